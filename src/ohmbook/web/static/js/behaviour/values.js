/** The parts' values, each on a slider with its interval; typed, scrubbed, put back. */
import { t } from "../words.js";
import { set } from "./numbers.js";

const FULL = 1000;
const STEP = 0.01;
const FINE = 0.001;
const FAR = 0.1;
const WIDE = 200;
const STEPS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 };
const JUMPS = { PageUp: FAR, PageDown: -FAR };

export const keyOf = (one) => `${one.part}/${one.quantity}`;

function element(name, className, text) {
  const made = document.createElement(name);
  if (className) made.className = className;
  if (text !== undefined) made.textContent = text;
  return made;
}

const KIND = { inductor: "coil", capacitor: "capacitor", resistor: "resistor", driver: "driver" };

const PREFIXES = [[1e-12, "p"], [1e-9, "n"], [1e-6, "\u00b5"], [1e-3, "m"], [1, ""], [1e3, "k"]];

/** The marks of a rule from low to high: [where, label or ""], labels at 1, 2 and 5. */
function marks(low, high) {
  const found = [];
  const named = high / low > WIDE ? [1] : [1, 2, 5];
  for (let power = Math.floor(Math.log10(low)); power <= Math.log10(high); power += 1) {
    for (let k = 1; k < 10; k += 1) {
      const x = k * 10 ** power;
      if (x >= low && x <= high) found.push([x, named.includes(k) ? short(x) : ""]);
    }
  }
  return found;
}

function short(x) {
  const [size, letter] = PREFIXES.findLast(([one]) => x >= one * 0.9999) ?? PREFIXES[0];
  return `${Number((x / size).toPrecision(2))}${letter}`;
}

/** One value's row. */
class Value {
  constructor(told, changed) {
    this.told = told;
    this.changed = changed;
    const id = `v-${keyOf(told).replace(/[^\w]/g, "-")}`;
    this.row = element("li", "bh-value");
    this.row.dataset.key = keyOf(told);
    const what = told.main ? t(`behaviour.${KIND[told.kind]}`) : t("behaviour.series");
    const name = element("span", "bh-name");
    name.append(element("b", "", told.part), element("small", "", what));
    this.slide = element("div", "bh-slide");
    this.scale = element("span", "bh-scale");
    this.scale.setAttribute("aria-hidden", "true");
    this.interval = element("span", "bh-interval");
    this.tick = element("span", "bh-tick");
    this.range = element("input");
    Object.assign(this.range, { type: "range", min: "0", max: String(FULL), step: "any", id });
    this.range.setAttribute("aria-label", t("behaviour.slider", { name: told.part, what }));
    this.slide.append(this.scale, this.interval, this.tick, this.range);
    this.field = element("input", "num bh-typed");
    Object.assign(this.field, { type: "text", autocomplete: "off", spellcheck: false, inputMode: "text" });
    this.field.setAttribute("aria-label", t("behaviour.typed", { name: `${told.part}, ${what}` }));
    this.change = element("span", "bh-change num");
    this.back = element("button", "bh-back quiet", t("behaviour.back"));
    this.back.type = "button";
    this.back.setAttribute("aria-label", t("behaviour.back_of", { name: `${told.part}, ${what}` }));
    this.note = element("small", "bh-span num");
    this.row.append(name, this.field, this.change, this.back, this.slide, this.note);
    this.listen();
    this.learn(told);
  }

  /** What is settled now. */
  learn(told) {
    this.told = told;
    const [low, high] = told.range;
    const at = (x) => (Math.log(x / low) / Math.log(high / low)) * 100;
    this.interval.style.left = `${at(told.low)}%`;
    this.interval.style.width = `${at(told.high) - at(told.low)}%`;
    this.tick.style.left = `${at(told.value)}%`;
    this.scale.replaceChildren(...marks(low, high).map(([x, text]) => {
      const made = element("i", text ? "major" : "", text);
      made.style.left = `${at(x)}%`;
      return made;
    }));
    this.note.textContent = told.span && !told.determined
      ? `${t("behaviour.settled_span", told)}, ${t("behaviour.not_determined")}`
      : t(told.span ? "behaviour.settled_span" : "behaviour.settled_exact", told);
    const value = `${told.text} ${told.unit}${told.at ? ` ${t("behaviour.holds_at", { f: told.at })}` : ""}`;
    this.row.title = t("behaviour.settled_at", { value, span: this.note.textContent });
  }

  position(value) {
    const [low, high] = this.told.range;
    return value <= 0 ? 0 : (Math.log(value / low) / Math.log(high / low)) * FULL;
  }

  /** Show a value, or the settled one. @param {number|null} value @param {any} [told] */
  show(value, told) {
    const moved = value !== null;
    if (document.activeElement !== this.range || !this.held) {
      this.range.value = String(this.position(moved && typeof value === "number" ? value : this.told.value));
    }
    const text = told ? `${told.text} ${told.unit}` : moved ? null : `${this.told.text} ${this.told.unit}`;
    if (text && document.activeElement !== this.field) this.field.value = text;
    if (told || !moved) {
      const change = moved ? set(told.change || "") : "";
      this.change.textContent = change;
      const said = moved && change ? "behaviour.valuetext" : "behaviour.valuetext_settled";
      this.range.setAttribute("aria-valuetext", t(said, { value: text, change }));
    }
    this.row.classList.toggle("moved", moved);
    this.back.hidden = this.change.hidden = !moved;
    this.note.hidden = moved;
    this.field.removeAttribute("aria-invalid");
  }

  listen() {
    this.range.addEventListener("input", () => {
      this.held = true;
      const [low, high] = this.told.range;
      this.changed(this, low * (high / low) ** (Number(this.range.value) / FULL));
    });
    for (const name of ["change", "blur"]) this.range.addEventListener(name, () => (this.held = false));
    this.range.addEventListener("keydown", (event) => this.key(event));
    this.field.addEventListener("change", () => this.typed());
    this.back.addEventListener("click", () => {
      this.changed(this, null);
      this.range.focus({ preventScroll: true });
    });
  }

  typed() {
    const text = this.field.value.trim();
    if (text) this.changed(this, text);
  }

  key(event) {
    const share = STEPS[event.key]
      ? STEPS[event.key] * (event.shiftKey ? FINE : STEP)
      : JUMPS[event.key];
    if (!share) return;
    event.preventDefault();
    this.held = false;
    this.changed(this, "by", share);
  }
}

/** All of them. */
export class Values {
  /** @param {HTMLElement} root @param {(key: string, value: number|string|null) => void} moved */
  constructor(root, moved) {
    this.lists = [root.querySelector("[data-main]"), root.querySelector("[data-further]")];
    this.further = root.querySelector(".bh-further");
    this.moved = moved;
    this.rows = new Map();
    this.now = new Map();
  }

  /** The settled values, as the server tells them. */
  learn(told) {
    const keys = told.map(keyOf);
    if (keys.join() !== [...this.rows.keys()].join()) {
      for (const list of this.lists) list.replaceChildren();
      this.rows = new Map(told.map((one) => [keyOf(one), new Value(one, (...how) => this.change(...how))]));
      for (const one of told) {
        const first = one.main && one.kind !== "driver";
        this.lists[first ? 0 : 1].append(this.rows.get(keyOf(one)).row);
      }
    } else {
      for (const one of told) this.rows.get(keyOf(one)).learn(one);
    }
    this.further.hidden = !this.lists[1].children.length;
  }

  change(one, value, share) {
    const key = keyOf(one.told);
    const next = value === "by" ? (this.now.get(key) || one.told.value) * (1 + share) : value;
    if (typeof next === "number") {
      one.range.value = String(one.position(next));
      this.now.set(key, next); // the next step goes on from here, whether or not it is drawn yet
    }
    this.moved(key, next);
  }

  /** Show what is moved. @param {Map<string, {to: any}>} to @param {any[]} told by the server */
  show(to, told) {
    const by = new Map(told.map((one) => [keyOf(one), one]));
    this.now = new Map(told.map((one) => [keyOf(one), one.value]));
    for (const [key, value] of to) if (typeof value === "number") this.now.set(key, value);
    for (const [key, one] of this.rows) one.show(to.has(key) ? to.get(key) : null, by.get(key));
  }

  /** A typed value that is none. */
  refuse(key) {
    this.rows.get(key)?.field.setAttribute("aria-invalid", "true");
  }
}
