/** The reading line: what each curve is at one frequency; by pointer and by keyboard. */
import { t } from "../words.js";
import { swatch } from "./look.js";
import { db, deg, hz, ohm } from "./numbers.js";
import { row } from "./wire.js";

const COARSE = 5;
const OCTAVE = 40;
const REST_MS = 250;
const SHOWN = {
  gain_db: (x) => `${db(x)} dB`,
  magnitude_ohm: (x) => `${ohm(x)} Ω`,
  phase_deg: deg,
  impedance_phase_deg: deg,
};
const PLAIN = { gain_db: db, magnitude_ohm: ohm };

/** A row at a place that may lie between two points. @param {ArrayLike<number|null>|undefined} all */
function between(all, index) {
  const left = Math.floor(index);
  const [here, next] = [all?.[left] ?? null, all?.[Math.min(left + 1, (all?.length ?? 1) - 1)] ?? null];
  if (here === null || next === null || Math.abs(next - here) > 180) return here;
  return here + (next - here) * (index - left);
}

export class Readout {
  /** @param {HTMLElement} root @param {any} plots @param {(f: number) => void} rests */
  constructor(root, plots, rests) {
    this.plots = plots;
    this.rests = rests;
    this.root = root;
    this.place = root.querySelector(".bh-plots");
    this.said = root.querySelector(".bh-said");
    this.at = root.querySelector(".bh-at");
    this.index = null;
    this.listen();
  }

  listen() {
    const follow = (event) => {
      if (event.target.closest(".bh-plot")) this.move(this.plots.at(event.clientX), false);
    };
    this.place.addEventListener("pointermove", follow);
    this.place.addEventListener("pointerdown", (event) => {
      follow(event);
      this.place.focus({ preventScroll: true });
    });
    this.place.addEventListener("keydown", (event) => this.key(event));
  }

  key(event) {
    const last = this.plots.state.x.length - 1;
    const step = event.shiftKey ? 1 : COARSE;
    const here = Math.round(this.index);
    const to = {
      ArrowLeft: () => here - step,
      ArrowRight: () => here + step,
      PageUp: () => here + OCTAVE,
      PageDown: () => here - OCTAVE,
      Home: () => 0,
      End: () => last,
    }[event.key];
    if (!to) return;
    event.preventDefault();
    this.move(to(), true);
  }

  /** The frequency at the line. */
  get f() {
    const { x } = this.plots.state;
    return x[0] * (x[x.length - 1] / x[0]) ** (this.index / (x.length - 1));
  }

  /** Go to a frequency. @param {number} f @param {boolean} aloud */
  go(f, aloud) {
    const { x } = this.plots.state;
    const share = Math.log(f / x[0]) / Math.log(x[x.length - 1] / x[0]);
    this.move(share * (x.length - 1), aloud);
  }

  move(index, aloud) {
    this.index = Math.min(this.plots.state.x.length - 1, Math.max(0, index));
    this.plots.place(this.f);
    this.show();
    if (aloud) this.said.textContent = this.words();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.rests(this.f), REST_MS);
  }

  /** The keys anew: lines, names and room for numbers. */
  build() {
    this.cells = [];
    for (const [kind, lines] of this.plots.keys()) {
      const place = this.root.querySelector(`[data-plot="${kind}"] .bh-keys`);
      place.replaceChildren(...lines.map(([what, whose, line]) => this.cell(what, whose, line)));
    }
    this.show();
  }

  cell(what, whose, line) {
    const made = document.createElement("span");
    made.className = "bh-key";
    const name = document.createElement("span");
    name.textContent = whose === "input" ? t("behaviour.input") : whose;
    const value = document.createElement("span");
    value.className = "q";
    const span = document.createElement("span");
    span.className = "q span";
    made.append(swatch(line), name, value, span);
    this.cells.push({ what, whose, value, span });
    return made;
  }

  /** The numbers at the line, as the curves are now. */
  show() {
    if (this.index === null || !this.cells) return;
    this.at.textContent = t("behaviour.at", { f: hz(this.f) });
    for (const one of this.cells) {
      const [value, span] = this.read(one);
      if (one.value.textContent !== value) one.value.textContent = value;
      if (one.span.textContent !== span) one.span.textContent = span;
    }
  }

  read({ what, whose }) {
    const { moved, settled } = this.plots.state;
    const rows = moved ?? settled;
    const at = (name) => between(rows.get(row(name, whose)), this.index);
    const value = at(what);
    if (value === null) return [what === "gain_db" ? t("behaviour.silent") : "", ""];
    const [low, high] = [at(`${what}_low`), at(`${what}_high`)];
    const plain = PLAIN[what];
    const span = plain && low !== null && high !== null
      ? t("behaviour.band", { low: plain(low), high: plain(high) })
      : "";
    return [SHOWN[what](value), span];
  }

  words() {
    const told = this.cells
      .filter((one) => one.value.closest("figure").offsetParent !== null)
      .map((one) => `${one.whose === "input" ? t("behaviour.input") : one.whose} ${one.value.textContent}`);
    return `${hz(this.f)}: ${told.join(", ")}`;
  }
}
