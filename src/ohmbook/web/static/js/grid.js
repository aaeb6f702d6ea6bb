// @ts-check
/**
 * A table of cells to type into. Tab goes right, Enter and the arrow keys down and up; a block that
 * is pasted fills the cells from where it is pasted on. "-" stands for "not read".
 *
 *   const cells = grid(host, {
 *     label: "Amplitudes",                                    // its name for screen readers
 *     columns: [{ key: "frequency", label: "Frequency", unit: "kHz", head: true, fixed: true },
 *               { key: "w", label: "w", unit: "mVpp" }],      // `head`: names the row; `fixed`: text
 *     rows: [{ key: "0.1", values: { frequency: "0.1" }, expected: { w: "340" } }],
 *     changed: (cells, at) => ...,                            // after typing; at = {row, column, text}
 *     grows: true,                                            // Enter in the last row adds one
 *   });
 *   cells.values()                      -> [{ key, values: { frequency: "0.1", w: "341" } }, ...]
 *   cells.mark("0.1", "w", "good")      -> "good" | "doubtful" | "bad" | "" with a message as 4th
 *   cells.clear()                       -> takes every mark away
 *   cells.set("0.1", "w", "341")        -> puts a text in, as if it were typed
 *   cells.focus("0.1", "w")
 *   cells.add({ key, values }), cells.remove(key), cells.element
 *
 * A mark is a sign in the cell beside its colour; its message is the cell's description, and shows
 * under the table while the cell has the focus.
 */
import { t } from "./words.js";

const SIGN = { good: "✓", doubtful: "?", bad: "!" };
let made = 0;

/** @param {string} tag @param {Record<string, string>} [attributes] @param {...(Node|string)} inside */
function element(tag, attributes = {}, ...inside) {
  const found = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) found.setAttribute(name, value);
  found.append(...inside);
  return found;
}

/**
 * @param {HTMLElement} host what it is put into
 * @param {{label: string, columns: any[], rows: any[], changed?: Function, grows?: boolean}} how
 */
export function grid(host, how) {
  const id = `grid-${(made += 1)}`;
  const rows = [];
  const body = element("tbody");
  const told = element("p", { class: "grid-told", id: `${id}-told`, "aria-live": "polite" });
  const frame = element("div", { class: "grid-frame", tabindex: "-1" });
  const table = element("table", { class: "grid", "aria-label": how.label });

  function head() {
    const cells = how.columns.map((one) => {
      const unit = one.unit ? [" ", element("span", { class: "grid-unit" }, one.unit)] : [];
      return element("th", { scope: "col" }, element("span", {}, one.label), ...unit);
    });
    return element("thead", {}, element("tr", {}, ...cells));
  }

  function cellOf(row, column) {
    const text = row.values[column.key] ?? "";
    if (column.fixed) return element("th", { scope: "row", class: "grid-fixed" }, text);
    const input = /** @type {HTMLInputElement} */ (
      element("input", {
        type: "text", autocomplete: "off", spellcheck: "false", class: "num", inputmode: "decimal",
      })
    );
    input.value = text;
    if (row.expected?.[column.key]) input.placeholder = row.expected[column.key];
    input.setAttribute("aria-label", labelOf(row, column));
    input.addEventListener("input", () => typed(row, column, input));
    input.addEventListener("keydown", (event) => key(event, row, column, input));
    input.addEventListener("paste", (event) => paste(event, row, column));
    input.addEventListener("focus", () => {
      input.select();
      say(row.marks.get(column.key)?.told ?? "");
    });
    const sign = element("span", { class: "grid-sign", "aria-hidden": "true" });
    const cell = element(column.head ? "th" : "td", column.head ? { scope: "row" } : {}, input, sign);
    row.inputs.set(column.key, { input, sign, cell });
    return cell;
  }

  function labelOf(row, column) {
    if (column.head) return `${column.label}, ${column.unit ?? ""}`;
    const named = how.columns.find((one) => one.head);
    const first = named ? `${row.values[named.key] ?? ""} ${named.unit ?? ""}, ` : "";
    return `${first}${column.label}, ${column.unit ?? ""}`;
  }

  function typed(row, column, input) {
    row.values[column.key] = input.value;
    if (column.head) {
      for (const one of how.columns) {
        row.inputs.get(one.key)?.input.setAttribute("aria-label", labelOf(row, one));
      }
    }
    mark(row.key, column.key, "");
    how.changed?.(api, { row: row.key, column: column.key, text: input.value });
  }

  function key(event, row, column, input) {
    const step = { Enter: event.shiftKey ? -1 : 1, ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step) {
      event.preventDefault();
      move(row, column, step, event.key === "Enter");
    } else if (event.key === "ArrowRight" && input.selectionStart === input.value.length) {
      beside(row, column, 1);
    } else if (event.key === "ArrowLeft" && input.selectionEnd === 0) {
      beside(row, column, -1);
    }
  }

  function move(row, column, step, grow) {
    const next = rows[rows.indexOf(row) + step];
    if (next) next.inputs.get(column.key)?.input.focus();
    else if (grow && step > 0 && how.grows) {
      api.add({});
      rows.at(-1).inputs.get(how.columns[0].key)?.input.focus();
    }
  }

  function beside(row, column, step) {
    const next = how.columns[how.columns.indexOf(column) + step];
    if (next) row.inputs.get(next.key)?.input.focus();
  }

  function paste(event, row, column) {
    const lines = event.clipboardData.getData("text").replace(/\s+$/, "").split(/\r?\n/);
    const block = lines.map((line) => line.trim().split(/\t|;| +/));
    if (block.length === 1 && block[0].length === 1) return;
    event.preventDefault();
    const down = rows.indexOf(row);
    const right = how.columns.indexOf(column);
    block.forEach((cells, i) => {
      if (!rows[down + i] && how.grows) api.add({});
      cells.forEach((text, j) => {
        const [there, one] = [rows[down + i], how.columns[right + j]];
        if (there && one && !one.fixed) api.set(there.key, one.key, text);
      });
    });
  }

  function say(message) {
    if (told.textContent !== message) told.textContent = message;
  }

  function mark(rowKey, columnKey, state, message = "") {
    const row = rows.find((one) => one.key === rowKey);
    const found = row?.inputs.get(columnKey);
    if (!found) return;
    row.marks.set(columnKey, { state, told: message });
    found.cell.dataset.mark = state;
    found.sign.textContent = SIGN[state] ?? "";
    found.input.toggleAttribute("aria-invalid", false);
    if (state === "bad" || state === "doubtful") found.input.setAttribute("aria-invalid", "true");
    const said = message || (state ? t(`grid.${state}`) : "");
    if (said) found.input.setAttribute("aria-description", said);
    else found.input.removeAttribute("aria-description");
    if (document.activeElement === found.input) say(message);
  }

  const api = {
    element: frame,
    /** Every row with what stands in its cells. */
    values: () => rows.map((row) => ({ key: row.key, values: { ...row.values } })),
    mark,
    clear: () => rows.forEach((row) => how.columns.forEach((one) => mark(row.key, one.key, ""))),
    /** @param {string} rowKey @param {string} columnKey @param {string} text */
    set(rowKey, columnKey, text) {
      const row = rows.find((one) => one.key === rowKey);
      const found = row?.inputs.get(columnKey);
      if (!found) return;
      found.input.value = text;
      found.input.dispatchEvent(new Event("input", { bubbles: true }));
    },
    /** @param {string} rowKey @param {string} columnKey */
    focus: (rowKey, columnKey) =>
      rows.find((one) => one.key === rowKey)?.inputs.get(columnKey)?.input.focus(),
    /** @param {{key?: string, values?: Record<string, string>, expected?: Record<string, string>}} given */
    add(given) {
      let k = rows.length + 1;
      while (rows.some((one) => one.key === `row ${k}`)) k += 1;
      const row = {
        key: given.key ?? `row ${k}`,
        values: { ...(given.values ?? {}) },
        expected: given.expected,
        inputs: new Map(),
        marks: new Map(),
        line: element("tr"),
      };
      row.line.append(...how.columns.map((one) => cellOf(row, one)));
      rows.push(row);
      body.append(row.line);
      return row.key;
    },
    /** @param {string} rowKey */
    remove(rowKey) {
      const at = rows.findIndex((one) => one.key === rowKey);
      if (at < 0) return;
      rows[at].line.remove();
      rows.splice(at, 1);
    },
  };
  for (const row of how.rows) api.add(row);
  table.append(head(), body);
  frame.append(table);
  host.replaceChildren(frame, told);
  return api;
}
