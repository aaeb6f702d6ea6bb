// @ts-check
/** What a reading comes to, shown: faults at their fields, values, doubts, where the clips go. */
import { control } from "./readform.js";
import { t } from "./words.js";

const by = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

/** @param {string} tag @param {Record<string, string>} [attributes] @param {...(Node|string)} inside */
export function el(tag, attributes = {}, ...inside) {
  const found = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) found.setAttribute(name, value);
  found.append(...inside);
  return found;
}

/** Take every message at a field away, so that the helps stand there again. */
export function clearFaults() {
  for (const one of document.querySelectorAll("#form [aria-invalid]")) one.removeAttribute("aria-invalid");
  for (const one of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("#form .note"))) {
    if (one.classList.contains("fault") || one.dataset.said) say(one, one.dataset.help ?? "", false);
  }
}

function say(note, text, fault) {
  note.removeAttribute("title");
  delete note.dataset.said;
  note.classList.toggle("fault", fault);
  note.replaceChildren(text);
}

function fresh(section) {
  const noun = section === "sources" ? "source" : "instrument";
  const kind = control(`f.${noun}`)?.selectedOptions[0]?.dataset.new ?? "";
  return `n.${noun}.${kind}`;
}

/** Where a place of the server's stands in the form. */
function named(place) {
  if (["parts", "sources", "instruments"].includes(place[0])) {
    const [section, name, ...rest] = place;
    if (section === "parts") return rest.length ? `p.${rest[0]}` : "p.name";
    const own = `t.${section}.${name}.${rest[0] ?? "like"}`;
    return control(own) ? own : `${fresh(section)}.${rest[0] ?? "name"}`;
  }
  return `f.${place.join(".")}`;
}

/**
 * Show what is wrong at each field.
 * @param {any[]} faults @param {Record<string, any>} grids @param {(fix: any) => void} use
 * @returns {any[]} those that have no field of their own
 */
export function showFaults(faults, grids, use) {
  clearFaults();
  const left = [];
  for (const one of faults) {
    if (one.blank) continue;
    if (one.place.length === 3 && grids[one.place[0]]) {
      grids[one.place[0]].fault(one.place[1], one.place[2], one.message);
      continue;
    }
    const note = noteOf(one.place);
    if (!note) {
      left.push(one);
      continue;
    }
    const halfway = note.input === document.activeElement && /^[\d.,\s]*$/.test(note.input.value ?? "x");
    say(note.place, one.short, !halfway);
    note.place.title = one.message;
    note.place.dataset.said = "yes";
    if (!halfway) note.input?.setAttribute("aria-invalid", "true");
    for (const fix of one.fixes) note.place.append(" ", fixButton(fix, use, true));
  }
  return left;
}

function noteOf(place) {
  for (let k = place.length; k > 0; k -= 1) {
    const name = named(place.slice(0, k));
    const found = document.getElementById(`${name}-note`);
    if (found) return { place: found, input: control(name) ?? control(`${name}.0`) };
  }
  return null;
}

/** @param {any} fix @param {(fix: any) => void} use @param {boolean} [short] the text alone is seen */
function fixButton(fix, use, short = false) {
  const said = t("reading.use", { text: fix.text });
  const button = el("button", { type: "button", class: "fix", "aria-label": said }, short ? fix.text : said);
  button.addEventListener("click", () => use(fix));
  return button;
}

/** A value with its unit apart and its interval lighter. */
function quantity(one) {
  return el("span", { class: "q" }, one.value, el("span", { class: "u" }, one.unit));
}

function bar(one, low, high) {
  const x = (at) => 2 + (296 * (at - low)) / (high - low || 1);
  const svg = (tag, attributes) => {
    const found = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes)) found.setAttribute(name, String(value));
    return found;
  };
  const picture = svg("svg", { class: "bars", viewBox: "0 0 300 26", "aria-hidden": "true" });
  for (const [name, shown, y] of [["before", one.before, 6], ["after", one.after, 18]]) {
    if (!shown) continue;
    const [from, middle, to] = shown.span;
    picture.append(
      svg("line", { class: name, x1: x(from), x2: Math.max(x(to), x(from) + 1), y1: y, y2: y }),
      svg("circle", { class: name, cx: x(middle), cy: y, r: 4 }),
    );
  }
  return picture;
}

function large(one) {
  if (one.before && JSON.stringify(one.before) === JSON.stringify(one.after)) one = { ...one, stands: true, before: null };
  const spans = [one.before, one.after].filter(Boolean).map((each) => each.span);
  const low = Math.min(...spans.map((each) => each[0]));
  const high = Math.max(...spans.map((each) => each[2]));
  const room = 0.08 * (high - low || 1);
  const after = one.after;
  const before = one.stands ? t("reading.stands") : one.before
    ? t("reading.before", { value: `${one.before.value} ${one.before.unit} (${one.before.low} to ${one.before.high})` })
    : t("reading.new_value");
  return el(
    "div",
    { class: "large", "data-name": one.name },
    el("p", { class: "what" }, el("b", {}, one.name), ` ${one.quantity}`,
      after.at ? el("small", {}, ` ${t("reading.at_frequency", { f: after.at })}`) : ""),
    el("p", { class: "value" }, quantity(after)),
    el("p", { class: "interval" }, t("reading.interval", { low: after.low, high: `${after.high} ${after.unit}` }),
      el("span", { class: "spread" }, after.spread)),
    bar(one, low - room, high + room),
    el("p", { class: "was" }, after.determined ? before : t("reading.not_determined")),
  );
}

function small(one) {
  return el("li", {}, el("span", {}, one.name, el("small", {}, ` ${one.quantity}`)), quantity(one.after),
    el("span", { class: "spread" }, one.after.spread),
    el("small", { class: "was" }, one.before ? t("reading.before", { value: `${one.before.value} ${one.before.unit}, ${one.before.spread}` }) : ""));
}

/** The values it comes to. @param {any} found */
export function showValues(found) {
  const place = by("values");
  const [first, ...others] = found.moved;
  if (first) {
    place.replaceChildren(large(first));
    by("others").replaceChildren(...others.map(small));
    by("others").hidden = !others.length;
  }
  if (!first && found.faults.every((one) => one.blank)) {
    place.replaceChildren(el("p", { class: "nothing" }, t("reading.nothing_yet")));
  }
  if (!first) by("others").hidden = true;
  place.classList.toggle("old", !first);
  const agree = by("agree");
  if (found.agree && agree.textContent !== found.agree) agree.textContent = found.agree;
}

/** The value in one line, for what is told after writing. @param {any} found */
export function inWords(found) {
  const one = found?.moved[0];
  return one ? `${one.name} ${one.after.value} ${one.after.unit} (${one.after.low} to ${one.after.high})` : "";
}

/** What does not fit, each with its fixes. @param {any} found @param {any[]} left @param {(fix: any) => void} use */
export function showDoubts(found, left, use) {
  const items = found.told.map((one) =>
    el("div", { class: "doubt", "data-kind": one.kind }, el("p", {}, one.message),
      ...one.fixes.map((fix) => el("p", { class: "fix-line" }, fixButton(fix, use), el("small", {}, fix.words))),
      ...one.readings.filter((name) => name !== found.name).map((name) => el("p", {}, toReading(name)))));
  const general = left.map((one) =>
    el("div", { class: "doubt" }, el("p", {}, one.message), ...one.fixes.map((fix) => fixButton(fix, use))));
  const trouble = found.trouble ? [el("div", { class: "doubt" }, el("p", {}, t("reading.trouble", { told: found.trouble })))] : [];
  const all = [...items, ...general, ...trouble];
  flag(found, all.length, use);
  const place = by("doubts");
  if (all.length) all.unshift(el("h2", {}, t("reading.look_at")));
  place.replaceChildren(...all);
}

/** The way to another reading that does not fit. @param {string} name */
function toReading(name) {
  const link = el("a", {}, t("reading.look_at_reading", { reading: name }));
  link.setAttribute("href", `${location.pathname}?revise=${encodeURIComponent(name)}`);
  return link;
}

/** On a phone the doubts are out of sight: beside the value stands the likeliest fix, or a way there. */
function flag(found, count, use) {
  const button = /** @type {HTMLButtonElement} */ (by("flag"));
  const fix = found.told.flatMap((one) => one.fixes)[0];
  button.hidden = !count;
  button.textContent = fix?.text ? t("reading.use", { text: fix.text }) : t("reading.flag");
  button.onclick = () => (fix?.text ? use(fix) : by("doubts").scrollIntoView({ block: "center" }));
}

let drawn = "";

/** Cautions, then the clips in words, then the picture. @param {any[]} setups */
export function showSetups(setups) {
  const text = JSON.stringify(setups.map((one) => [one.title, one.cautions, one.clips, one.notes, one.picture]));
  if (text === drawn) return;
  drawn = text;
  const place = by("setups");
  if (!setups.length) {
    place.replaceChildren(el("p", { class: "nothing" }, place.dataset.empty ?? ""));
    return;
  }
  place.replaceChildren(...setups.map(setup));
}

function listed(items) {
  return el("ul", {}, ...items.map((one) => el("li", {}, one)));
}

function setup(one) {
  const parts = [];
  if (one.cautions.length) {
    parts.push(el("div", { class: "caution" }, el("h3", {}, t("reading.mind")), listed(one.cautions)));
  }
  parts.push(el("h3", {}, one.title));
  const figure = el("figure", { class: "wiring", tabindex: "0", "aria-label": one.title });
  const read = new DOMParser().parseFromString(one.picture.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" '), "image/svg+xml");
  figure.append(document.importNode(read.documentElement, true));
  const clips = el("ul", { class: "clips", "aria-label": t("reading.clips") }, ...one.clips.map((clip) => el("li", {}, clip)));
  parts.push(el("div", { class: "wired" }, clips, figure));
  if (one.notes.length) parts.push(el("p", { class: "small soft" }, one.notes.join("; ")));
  return el("div", { class: "setup" }, ...parts);
}

/** What does not fit stands beside the form where there is room, before the last step elsewhere. */
export function placeDoubts() {
  const narrow = matchMedia("(max-width: 56rem)");
  const put = () => by(narrow.matches ? "doubts-narrow" : "doubts-wide").append(by("doubts"));
  narrow.addEventListener("change", put);
  put();
}
