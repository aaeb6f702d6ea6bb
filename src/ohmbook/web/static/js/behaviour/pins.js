/** Pinned versions: kept by name, drawn, compared with what is shown now. */
import { t } from "../words.js";
import { lines } from "./inwords.js";

const LETTERS = ["A", "B", "C"];

export class Pins {
  /** @param {HTMLElement} place
   *  @param {{changed: () => void, take: (to: any) => void}} how */
  constructor(place, how) {
    this.place = place;
    this.how = how;
    this.all = [];
  }

  /** What is kept of them: without their curves. */
  kept() {
    return this.all.map(({ letter, name, to }) => ({ letter, name, to }));
  }

  /** @param {any[]} kept */
  restore(kept) {
    this.all = kept.map((one) => ({ ...one, rows: null }));
    this.build();
  }

  get full() {
    return this.all.length >= LETTERS.length;
  }

  /** Pin a version. @param {any[]} to @param {string} name @param {Map<string, any>} rows */
  add(to, name, rows) {
    const letter = LETTERS.find((one) => this.all.every((pin) => pin.letter !== one));
    this.all = [...this.all, { letter, name, to, rows }].sort((a, b) => a.letter.localeCompare(b.letter));
    this.build();
    this.how.changed();
    this.place.querySelector(`[data-letter="${letter}"] input`)?.focus({ preventScroll: true });
  }

  remove(letter) {
    this.all = this.all.filter((one) => one.letter !== letter);
    this.build();
    this.how.changed();
  }

  build() {
    this.place.replaceChildren(...this.all.map((pin) => this.entry(pin)));
  }

  entry(pin) {
    const made = document.createElement("div");
    made.className = "bh-pinned";
    made.dataset.letter = pin.letter;
    const head = document.createElement("div");
    head.className = "bh-pin-head";
    const letter = document.createElement("b");
    letter.textContent = pin.letter;
    const name = document.createElement("input");
    Object.assign(name, { value: pin.name, maxLength: 60, autocomplete: "off" });
    name.setAttribute("aria-label", t("behaviour.pin_name", { letter: pin.letter }));
    name.addEventListener("change", () => {
      pin.name = name.value.trim() || pin.letter;
      this.how.changed();
    });
    const take = this.button(t("behaviour.pin_take"), () => this.how.take(pin.to));
    take.setAttribute("aria-label", t("behaviour.pin_take_title", { letter: pin.letter }));
    const away = this.button("×", () => this.remove(pin.letter));
    away.setAttribute("aria-label", t("behaviour.pin_remove", { letter: pin.letter }));
    head.append(letter, name, take, away);
    const words = document.createElement("small");
    words.textContent = t("behaviour.pin_against", { letter: pin.letter });
    const list = document.createElement("ul");
    list.className = "bh-lines";
    made.append(head, words, list);
    return made;
  }

  button(text, done) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "quiet";
    made.textContent = text;
    made.addEventListener("click", done);
    return made;
  }

  /** Every version's curves anew. @param {(to: any[]) => Promise<{rows: Map<string, any>}>} ask */
  async fetch(ask) {
    for (const pin of this.all) {
      try {
        pin.rows = (await ask(pin.to)).rows;
      } catch {
        pin.rows ??= null;
      }
    }
    this.all = [...this.all];
  }

  /** How what is shown differs from each. @param {string[][]} told */
  compare(told) {
    this.all.forEach((pin, k) => {
      const list = this.place.querySelector(`[data-letter="${pin.letter}"] ul`);
      if (list && told[k]) list.replaceChildren(...lines(told[k]));
    });
  }
}
