/** The symbols, as IEC 60617 has them, drawn by paths of our own. */
import { G, REACH } from "./geometry.js";

const NS = "http://www.w3.org/2000/svg";
const LONG = G * REACH;

/** An element of the picture. @param {string} name @param {Record<string, any>} [attributes] */
export function el(name, attributes = {}, ...inside) {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== null && value !== false) made.setAttribute(key, String(value));
  }
  made.append(...inside);
  return made;
}

/** Each part from its first end at 0 to its second along x. */
const PATHS = {
  inductor: "M0 0H8a5 5.4 0 0 1 10 0a5 5.4 0 0 1 10 0a5 5.4 0 0 1 10 0a5 5.4 0 0 1 10 0H56",
  capacitor: "M0 0H25M25 -11V11M31 -11V11M31 0H56",
  resistor: "M0 0H13M13 -5.5H43V5.5H13ZM43 0H56",
  driver: "M0 0H19M19 -6H37V6H19ZM37 0H56M19 -6L10 -21H46L37 -6",
};
const PLUS_MARK = "M4 9h7M7.5 5.5v7";

/** A part's symbol. @param {string} kind @param {number[]} place */
export function symbol(kind, place) {
  const [x, y, turn] = place;
  const flipped = kind === "driver" && turn >= 180 ? " scale(1 -1)" : "";
  const group = el("g", { transform: `translate(${x * G} ${y * G}) rotate(${turn})${flipped}`, class: `symbol ${kind}` });
  group.append(el("rect", { class: "hit", x: 6, y: kind === "driver" ? -22 : -12, width: LONG - 12, height: kind === "driver" ? 34 : 24 }));
  group.append(el("path", { d: PATHS[kind], class: kind === "capacitor" ? "plates" : "body" }));
  if (kind === "driver") group.append(el("path", { d: PLUS_MARK, class: "plus" }));
  return group;
}

/** A symbol alone, for a button. */
export function icon(kind) {
  const picture = el("svg", { viewBox: "0 -24 56 40", class: "icon", "aria-hidden": "true" });
  picture.append(symbol(kind, [0, 0, 0]));
  return picture;
}

/** A mark: ground is a bar, input and outputs are terminals. */
export function markSymbol(mark) {
  const [x, y] = mark.at;
  const group = el("g", { transform: `translate(${x * G} ${y * G})`, class: `mark ${mark.kind}` });
  group.append(el("rect", { class: "hit", x: -10, y: -8, width: 20, height: 22 }));
  if (mark.kind === "ground") group.append(el("path", { d: "M0 0V9", class: "body" }), el("path", { d: "M-10 9.5H10", class: "bar" }));
  else group.append(el("circle", { r: 4, class: "terminal" }));
  return group;
}
