/** What is told in words: what changes, what the curves come to, where it is worth looking. */
import { set } from "./numbers.js";

/** Lines of a list. @param {string[]} told */
export function lines(told) {
  return told.map((one) => {
    const made = document.createElement("li");
    made.textContent = set(one);
    return made;
  });
}

/** The same in a list that has some already: what stands there is only changed where it differs.
 * @param {HTMLElement} list @param {string[]} told */
export function fillLines(list, told) {
  while (list.children.length > told.length) list.lastChild.remove();
  told.forEach((one, k) => {
    const text = set(one);
    if (!list.children[k]) list.append(document.createElement("li"));
    if (list.children[k].textContent !== text) list.children[k].textContent = text;
  });
}

export class InWords {
  /** @param {HTMLElement} root @param {any} readout */
  constructor(root, readout) {
    this.readout = readout;
    this.by = (name) => root.querySelector(name);
  }

  /** @param {string[]} told */
  differences(told) {
    fillLines(this.by(".bh-changes"), told);
    this.by(".bh-brief").textContent = set(told.slice(0, 2).join(" \u00b7 "));
  }

  /** Said aloud, once a value has come to rest. @param {string} line */
  say(line) {
    this.by(".bh-said").textContent = set(line);
  }

  /** @param {{summary: {title: string, lines: string[]}[], amplifier: string[]}} told */
  sums({ summary, amplifier }) {
    this.by(".bh-summary").replaceChildren(...summary.map(({ title, lines: told }) => {
      const made = document.createElement("div");
      const head = document.createElement("h3");
      head.textContent = title;
      const list = document.createElement("ul");
      list.className = "bh-lines";
      list.append(...lines(told));
      made.append(head, list);
      return made;
    }));
    fillLines(this.by(".bh-amplifier"), amplifier);
  }

  /** @param {{words: string, f_hz: number}[]} all */
  places(all) {
    this.by(".bh-places").replaceChildren(...all.map((one) => {
      const made = document.createElement("button");
      made.type = "button";
      made.className = "quiet";
      made.textContent = one.words;
      made.addEventListener("click", () => {
        this.readout.go(one.f_hz, true);
        this.by(".bh-plots").focus({ preventScroll: true });
      });
      return made;
    }));
  }
}
