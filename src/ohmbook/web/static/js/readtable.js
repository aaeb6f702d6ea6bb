// @ts-check
/** A reading's table of many rows: a grid of cells as the text that a sheet has, and back. */
import { grid } from "./grid.js";

const NOT_READ = "-";
const clean = (text) => (text ?? "").trim().replace(/\s+/g, "").replace(/#/g, "?");

/**
 * @param {HTMLElement} host
 * @param {{columns: any[], rows: Record<string, string>[]}} given headings and cells
 * @param {string} label
 * @param {() => void} changed
 */
export function readTable(host, given, label, changed) {
  let columns = given.columns;
  let cells = make(given.rows);
  let sent = [];

  function make(rows) {
    const listed = rows.map((values, k) => ({ key: `row ${k + 1}`, values }));
    return grid(host, { label, columns, rows: listed, changed, grows: true });
  }

  const filled = (row) => columns.slice(1).some((one) => clean(row.values[one.key]));

  return {
    /** The table's text; undefined where nothing stands in it. */
    text() {
      const rows = cells.values().filter(filled);
      sent = rows.map((one) => one.key);
      const read = columns.filter((one, k) => k === 0 || rows.some((row) => clean(row.values[one.key])));
      if (!rows.length) return undefined;
      const line = (row) => read.map((one) => clean(row.values[one.key]) || NOT_READ).join("  ");
      return [read.map((one) => one.key).join("  "), ...rows.map(line)].join("\n");
    },
    /** @param {number} row from 1 @param {string} column its heading @param {string} told */
    fault: (row, column, told) => cells.mark(sent[row - 1], column, "bad", told),
    /** @param {{row: number, column: string, state: string, message: string}[]} marks */
    mark(marks) {
      cells.clear();
      for (const one of marks) cells.mark(sent[one.row - 1], one.column, one.state, one.message);
    },
    clear: () => cells.clear(),
    /** @param {number} row @param {string} column @param {string} text */
    set: (row, column, text) => cells.set(sent[row - 1], column, text),
    add: () => cells.focus(cells.add({}), columns[0].key),
    /** What stands in it, for a draft. */
    snapshot: () => ({ columns, rows: cells.values().map((one) => one.values) }),
    /** @param {{columns: any[], rows: any[]}} kept */
    restore(kept) {
      columns = kept.columns;
      cells = make(kept.rows);
    },
    /** The amounts' unit. */
    unit: () => columns[1]?.unit.split("@")[0] ?? "",
    /** Another unit at the head of every amount; the numbers stay. @param {string} unit */
    inUnit(unit) {
      const rows = cells.values().map((one) => one.values);
      const old = columns;
      columns = old.map((one, k) => {
        if (k === 0) return one;
        const range = one.unit.includes("@") ? `@${one.unit.split("@")[1]}` : "";
        return { ...one, unit: unit + range, key: `${one.label}/${unit}${range}` };
      });
      const moved = (values) =>
        Object.fromEntries(old.map((one, k) => [columns[k].key, values[one.key] ?? ""]));
      cells = make(rows.map(moved));
      changed();
    },
    /** Take the amounts out, keep the frequencies. */
    empty() {
      const rows = cells.values().map((one) => ({ [columns[0].key]: one.values[columns[0].key] }));
      cells = make(rows);
    },
  };
}
