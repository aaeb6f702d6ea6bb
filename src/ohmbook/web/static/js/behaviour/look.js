/** How curves look: colours and dashes from the page's tokens, axes, what a chart is made of. */

const TICKS_HZ = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000];
const ONE_TWO_FIVE = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 1e4];
export const LOW_HZ = 20;
export const HIGH_HZ = 20000;
const LINES = 6;
const FLOOR_DB = -40;

/** The tokens as they hold now: read again when light turns to dark. */
export function tokens() {
  const style = getComputedStyle(document.documentElement);
  const get = (name) => style.getPropertyValue(name).trim();
  const lines = [];
  for (let k = 1; k <= LINES; k += 1) {
    const dash = get(`--dash-${k}`);
    lines.push({
      colour: get(`--line-${k}`),
      dash: dash === "none" || !dash ? [] : dash.split(/\s+/).map(Number),
    });
  }
  return {
    lines,
    ink: get("--ink"),
    soft: get("--ink-soft"),
    grid: get("--grid"),
    rule: get("--rule"),
    paper: get("--sheet"),
    font: `12px ${get("--figures") || "monospace"}`,
  };
}

/** A colour of the tokens, as thin as wanted. @param {string} hex @param {number} share */
export function thin(hex, share) {
  const alpha = Math.round(share * 255).toString(16).padStart(2, "0");
  return /^#[0-9a-f]{6}$/i.test(hex) ? hex + alpha : hex;
}

const label = (f) => (f < 1000 ? String(f) : `${f / 1000}k`);
const minus = (value) => String(value).replace("-", "\u2212");

function axis(look, more) {
  return {
    stroke: look.soft,
    font: look.font,
    grid: { stroke: look.grid, width: 1 },
    ticks: { show: false },
    border: { show: true, stroke: look.rule, width: 1 },
    ...more,
  };
}

function steps(low, high) {
  const step = high - low > 60 ? 20 : high - low > 25 ? 10 : 5;
  const found = [];
  for (let y = Math.ceil(low / step) * step; y <= high; y += step) found.push(y);
  return found;
}

const Y = {
  gain: (range) => ({ splits: () => steps(...range()), values: (_, all) => all.map(minus) }),
  impedance: (range) => ({
    splits: () => ONE_TWO_FIVE.filter((y) => y >= range()[0] && y <= range()[1]),
    values: (_, all) => all.map(String),
  }),
  phase: () => ({ splits: () => [-180, -90, 0, 90, 180], values: (_, all) => all.map(minus) }),
};

/** What uPlot is given besides its series.
 * @param {"gain"|"impedance"|"phase"} kind @param {any} look @param {() => number[]} range */
export function options(kind, look, range) {
  return {
    pxAlign: 0,
    legend: { show: false },
    cursor: { show: false },
    padding: [6, 12, 0, 0],
    scales: {
      x: { time: false, distr: 3, range: [LOW_HZ, HIGH_HZ] },
      y: { distr: kind === "impedance" ? 3 : 1, range },
    },
    axes: [
      axis(look, {
        size: 28,
        gap: 5,
        splits: () => TICKS_HZ,
        values: (_, all) => all.map(label),
        filter: (_, all) => all,
      }),
      axis(look, { size: 46, gap: 6, filter: (_, all) => all, ...Y[kind](range) }),
    ],
  };
}

/** A range of y that holds the settled curves with room to move, and stays while they do.
 * @param {"gain"|"impedance"|"phase"} kind @param {ArrayLike<number|null>[]} rows */
export function rangeOf(kind, rows) {
  if (kind === "phase") return [-180, 180];
  let low = Infinity;
  let high = -Infinity;
  for (const one of rows) {
    for (let k = 0; k < (one?.length ?? 0); k += 1) {
      if (one[k] !== null && Number.isFinite(one[k])) {
        low = Math.min(low, one[k]);
        high = Math.max(high, one[k]);
      }
    }
  }
  if (kind === "gain") {
    const top = Number.isFinite(high) ? Math.max(5, Math.ceil((high + 1) / 5) * 5) : 5;
    return [FLOOR_DB, top];
  }
  if (!(low > 0)) return [1, 100];
  const under = ONE_TWO_FIVE.filter((y) => y <= low / 1.15).at(-1) ?? 0.1;
  const over = ONE_TWO_FIVE.find((y) => y >= high * 1.15) ?? 1e4;
  return [under, over];
}

/** A key's picture: a piece of the line. @param {{colour: string, dash: number[]}} line */
export function swatch(line) {
  const NS = "http://www.w3.org/2000/svg";
  const made = document.createElementNS(NS, "svg");
  made.setAttribute("viewBox", "0 0 30 8");
  made.setAttribute("aria-hidden", "true");
  const path = document.createElementNS(NS, "path");
  path.setAttribute("d", "M1 4h28");
  path.setAttribute("stroke", line.colour);
  path.setAttribute("stroke-width", "2.5");
  if (line.dash.length) path.setAttribute("stroke-dasharray", line.dash.join(" "));
  made.append(path);
  return made;
}
