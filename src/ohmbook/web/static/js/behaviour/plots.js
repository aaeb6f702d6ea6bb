/** The three charts: gain, impedance, phase; settled, moved and pinned curves with their bands. */
import uPlot from "/static/vendor/uplot.js";
import { options, rangeOf, thin, tokens } from "./look.js";
import { row } from "./wire.js";

const INPUT = "input";
export const KINDS = ["gain", "impedance", "phase"];
const WIDTH = 2.25;

const linear = uPlot.paths.linear();

/** A way to make paths that makes none anew for the same numbers in the same place. */
function remembering(make) {
  let before = null;
  return (u, series, first, last) => {
    const { left, top, width, height } = u.bbox;
    const here = [u.data[series], left, top, width, height, u.scales.y.min, u.scales.y.max];
    if (!before || here.some((one, k) => one !== before.here[k])) {
      before = { here, paths: make(u, series, first, last) };
    }
    return before.paths;
  };
}

/** A line that is not drawn from one edge to the other where a phase turns over. */
function turning(u, series, first, last) {
  const stroke = new Path2D();
  const [x, y] = [u.data[0], u.data[series]];
  let before = null;
  for (let k = first; k <= last; k += 1) {
    const here = y[k];
    if (here !== null) {
      const joined = before !== null && Math.abs(here - before) < 180;
      stroke[joined ? "lineTo" : "moveTo"](u.valToPos(x[k], "x", true), u.valToPos(here, "y", true));
    }
    before = here;
  }
  return { stroke, fill: null, clip: null, band: null, gaps: null, flags: 0 };
}

/** What a chart shows of a version: [what, whose, line number]. */
function curves(kind, outputs) {
  if (kind === "gain") return outputs.map((one, k) => ["gain_db", one, k]);
  if (kind === "impedance") return [["magnitude_ohm", INPUT, 2 + Math.max(0, outputs.length - 2)]];
  const all = outputs.map((one, k) => ["phase_deg", one, k]);
  return [...all, ["impedance_phase_deg", INPUT, 2 + Math.max(0, outputs.length - 2)]];
}

export class Plots {
  /** @param {HTMLElement} root holds the figures. @param {(kind: string) => void} drawn */
  constructor(root, drawn) {
    this.drawn = drawn;
    this.state = null;
    this.charts = new Map();
    this.seen = new Set(KINDS);
    this.figures = new Map(
      KINDS.map((kind) => [kind, root.querySelector(`[data-plot="${kind}"] .bh-plot`)]),
    );
    this.watch = new ResizeObserver((all) => all.forEach((one) => this.fit(one.target)));
    for (const place of this.figures.values()) this.watch.observe(place);
    document.addEventListener("ohmbook:theme", () => this.build());
    // what is drawn before its type has come keeps the type of before
    document.fonts.load(tokens().font).then(() => this.build());
  }

  /** Show a state: {x, outputs, settled, moved, pins: [{letter, rows}]}; all rows as unpacked. */
  show(state) {
    const made = this.state;
    const same = made && made.settled === state.settled && made.pins === state.pins;
    this.state = state;
    if (this.none?.length !== state.x.length) this.none = new Array(state.x.length).fill(null);
    if (!same || !this.charts.size) this.build();
    else for (const kind of this.charts.keys()) this.fill(kind);
  }

  /** Anew, in the colours that hold now. */
  build() {
    if (!this.state) return;
    this.look = tokens();
    for (const chart of this.charts.values()) chart.u.destroy();
    this.charts.clear();
    for (const kind of KINDS) this.make(kind);
  }

  make(kind) {
    const place = this.figures.get(kind);
    const { width, height } = place.getBoundingClientRect();
    const { outputs, settled, pins, x } = this.state;
    const shown = curves(kind, outputs);
    const range = rangeOf(kind, shown.map(([what, whose]) => settled.get(row(what, whose))));
    const layers = this.layers(kind, shown, pins);
    const chart = { u: null, layers, shown, range, kind };
    const opts = {
      ...options(kind, this.look, () => chart.range),
      width: Math.max(120, width),
      height: Math.max(80, height),
      series: [{}, ...layers.map((one) => one.series)],
      bands: layers.flatMap((one, k) => (one.fill ? [{ series: [k + 1, k + 2], fill: one.fill }] : [])),
      hooks: { draw: [(u) => this.after(kind, u)] },
    };
    this.charts.set(kind, chart);
    chart.u = new uPlot(opts, this.data(chart, x), place);
    chart.line = document.createElement("div");
    chart.line.className = "bh-line";
    chart.u.over.append(chart.line);
  }

  /** Every series of a chart, the undermost first: {series, of, name, fill}. */
  layers(kind, shown, pins) {
    const found = [];
    const line = (colour, dash, width) => ({
      scale: "y", stroke: colour, width, dash, points: { show: false }, pxAlign: 0, spanGaps: false,
      paths: remembering(kind === "phase" ? turning : linear),
    });
    const add = (of, share, width, fade) => {
      for (const [what, whose, k] of shown) {
        const { colour, dash } = this.look.lines[k % this.look.lines.length];
        if (kind !== "phase" && share) {
          found.push({ series: line("transparent", [], 0), of, name: row(`${what}_high`, whose), fill: thin(colour, share) });
          found.push({ series: line("transparent", [], 0), of, name: row(`${what}_low`, whose) });
        }
        found.push({ series: line(thin(colour, fade), dash, width), of, name: row(what, whose) });
      }
    };
    add("ghost", 0.09, 1.1, 0.75);
    pins.forEach((pin, p) => {
      for (const [what, whose] of shown) {
        const dash = [[1, 3], [5, 2, 1, 2], [2, 2]][p % 3];
        found.push({ series: line(this.look.ink, dash, 1.2), of: pin, name: row(what, whose) });
      }
    });
    add("now", 0.24, WIDTH, 1);
    return found;
  }

  data(chart, x) {
    const { settled, moved } = this.state;
    const of = { ghost: moved ? settled : null, now: moved ?? settled };
    return [x, ...chart.layers.map((one) => {
      const rows = typeof one.of === "string" ? of[one.of] : one.of.rows;
      return rows?.get(one.name) ?? this.none;
    })];
  }

  fill(kind) {
    const chart = this.charts.get(kind);
    chart.late = !this.seen.has(kind);
    if (chart.late) return;
    this.makeRoom(chart);
    chart.u.setData(this.data(chart, this.state.x));
  }

  /** A curve that is moved out of its chart widens it; it does not shrink while it moves. */
  makeRoom(chart) {
    const { settled, moved } = this.state;
    if (!moved || chart.kind === "phase") return;
    const all = chart.shown.flatMap(([what, whose]) => {
      const name = row(what, whose);
      return [settled.get(name), moved.get(name)];
    });
    const [low, high] = rangeOf(chart.kind, all);
    if (low < chart.range[0] || high > chart.range[1]) {
      chart.range = [Math.min(low, chart.range[0]), Math.max(high, chart.range[1])];
    }
  }

  fit(place) {
    const { width, height } = place.getBoundingClientRect();
    const kind = KINDS.find((one) => this.figures.get(one) === place);
    const chart = this.charts.get(kind);
    if (width && height) this.seen.add(kind);
    else this.seen.delete(kind);
    if (!chart || !width || !height) return;
    if (chart.late) this.fill(kind);
    if (Math.abs(chart.u.width - width) >= 1 || Math.abs(chart.u.height - height) >= 1) {
      chart.u.setSize({ width, height });
    }
    this.place(this.f ?? null);
  }

  /** After each drawing: a pinned version's letter, where it differs most; then news of it. */
  after(kind, u) {
    const chart = this.charts.get(kind);
    for (const pin of chart && u.data ? this.state.pins : []) this.letter(chart, u, pin);
    this.drawn(kind);
  }

  letter(chart, u, pin) {
    const rows = this.state.moved ?? this.state.settled;
    let best = { gap: -1 };
    for (const [what, whose] of chart.shown) {
      const [old, now] = [pin.rows?.get(row(what, whose)), rows.get(row(what, whose))];
      for (let k = 12; old && now && k < old.length - 12; k += 4) {
        const gap = Math.abs(old[k] - now[k]);
        if (old[k] > chart.range[0] && old[k] < chart.range[1] && gap > best.gap) best = { gap, k, y: old[k] };
      }
    }
    if (best.gap < 0) return;
    const left = u.valToPos(this.state.x[best.k], "x", true);
    const top = u.valToPos(best.y, "y", true);
    const ratio = devicePixelRatio;
    u.ctx.save();
    u.ctx.font = `700 ${12 * ratio}px ${this.look.font.slice(5)}`;
    u.ctx.textAlign = "center";
    u.ctx.textBaseline = "middle";
    u.ctx.fillStyle = this.look.paper;
    u.ctx.beginPath();
    u.ctx.arc(left, top, 8 * ratio, 0, 2 * Math.PI);
    u.ctx.fill();
    u.ctx.fillStyle = this.look.ink;
    u.ctx.fillText(pin.letter, left, top);
    u.ctx.restore();
  }

  /** Put the reading line at a frequency. @param {number|null} f */
  place(f) {
    this.f = f;
    for (const { u, line } of this.charts.values()) {
      line.hidden = f === null;
      if (f !== null) line.style.transform = `translateX(${u.valToPos(f, "x")}px)`;
    }
  }

  /** The grid's point nearest to a place on the screen. @param {number} clientX */
  at(clientX) {
    for (const { u } of this.charts.values()) {
      const box = u.over.getBoundingClientRect();
      if (!box.width) continue;
      const share = Math.min(1, Math.max(0, (clientX - box.left) / box.width));
      return Math.round(share * (this.state.x.length - 1));
    }
    return 0;
  }

  /** Each chart's lines for its key: [[what, whose, line], ...]. */
  keys() {
    return KINDS.map((kind) => {
      const shown = curves(kind, this.state.outputs);
      return [kind, shown.map(([what, whose, k]) => [what, whose, this.look.lines[k % this.look.lines.length]])];
    });
  }
}
