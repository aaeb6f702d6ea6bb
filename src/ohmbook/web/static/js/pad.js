// @ts-check
/**
 * A number pad with unit keys for a field with `data-unit`, where a finger points. The system's own
 * keyboard stays away ("inputmode" none) until it is asked for.
 */
import { t } from "./words.js";

const pad = /** @type {HTMLElement} */ (document.getElementById("pad"));
const coarse = matchMedia("(pointer: coarse)");
let field = /** @type {HTMLInputElement|null} */ (null);
let units = {};
let wanted = true;
let leaving = 0;

/** The pad stays until a touch elsewhere has done its work: the page would move under the finger. */
const LEAVE_MS = 350;

/** @param {Record<string, string[]>} keys units to say for each unit */
export function setUpPad(keys) {
  units = keys;
  document.addEventListener("focusin", (event) => lookAt(/** @type {HTMLElement} */ (event.target)));
  if (document.activeElement) lookAt(/** @type {HTMLElement} */ (document.activeElement));
  document.addEventListener("pointerdown", (event) => {
    const target = /** @type {HTMLElement} */ (event.target);
    if (coarse.matches && wanted && target instanceof HTMLInputElement && "unit" in target.dataset) {
      target.inputMode = "none";
    }
  });
}

function lookAt(target) {
  if (pad.contains(target)) return;
  clearTimeout(leaving);
  if (coarse.matches && wanted && target instanceof HTMLInputElement && "unit" in target.dataset) show(target);
  else leaving = setTimeout(hide, LEAVE_MS);
}

function show(target) {
  field = target;
  target.inputMode = "none";
  pad.replaceChildren(...keysFor(target.dataset.unit ?? "1"));
  pad.hidden = false;
  document.body.classList.add("pad-open");
  const low = target.getBoundingClientRect().bottom - (innerHeight - pad.offsetHeight) + 56;
  if (low > 0) scrollBy(0, low);
}

function hide() {
  if (pad.hidden) return;
  pad.hidden = true;
  field = null;
  document.body.classList.remove("pad-open");
}

function key(text, label, press, look = "") {
  const button = document.createElement("button");
  button.type = "button";
  button.tabIndex = -1;
  button.textContent = text;
  button.className = look;
  if (label) button.setAttribute("aria-label", label);
  button.addEventListener("pointerdown", (event) => event.preventDefault());
  button.addEventListener("click", press);
  return button;
}

function keysFor(unit) {
  const say = (units[unit] ?? []).slice(0, 4);
  const digits = ["789", "456", "123", ".0±"];
  const side = [
    key("⌫", t("reading.pad_back"), back, "side"),
    key("%", "", () => type(" %"), "side"),
    key("abc", t("reading.pad_keyboard"), keyboard, "side"),
    key("→", t("reading.pad_next"), next, "side next"),
  ];
  return digits.flatMap((row, k) => [
    ...[...row].map((one) => key(one, "", () => type(one === "±" ? " ± " : one), "digit")),
    say[k] ? key(say[k], "", () => put(say[k]), "unit") : key("", "", () => {}, "blank"),
    side[k],
  ]);
}

function changed() {
  field?.dispatchEvent(new Event("input", { bubbles: true }));
}

function type(text) {
  if (!field) return;
  const [from, to] = [field.selectionStart ?? 0, field.selectionEnd ?? 0];
  field.setRangeText(text, from, to, "end");
  changed();
}

function back() {
  if (!field) return;
  const [from, to] = [field.selectionStart ?? 0, field.selectionEnd ?? 0];
  if (from === to && from > 0) field.setRangeText("", from - 1, to, "end");
  else field.setRangeText("", from, to, "end");
  changed();
}

/** A unit takes the place of the one that stands at the end. */
function put(unit) {
  if (!field) return;
  const [number, spread] = field.value.split("±");
  const bare = (spread ?? number).replace(/[a-zA-ZµμΩ°%\s]+$/, "");
  field.value = spread === undefined ? `${bare} ${unit}` : `${number}±${bare} ${unit}`;
  field.setSelectionRange(field.value.length, field.value.length);
  changed();
}

function keyboard() {
  if (!field) return;
  const target = field;
  wanted = false;
  hide();
  target.inputMode = "text";
  target.blur();
  target.focus();
  target.addEventListener("blur", () => (wanted = true), { once: true });
}

function next() {
  const fields = /** @type {HTMLElement[]} */ ([...document.querySelectorAll("#form input, #form select, #write")]);
  const open = fields.filter((one) => one.checkVisibility() && one.tabIndex >= 0);
  const after = open.slice(open.indexOf(/** @type {any} */ (field)) + 1);
  const target = after.find((one) => "unit" in one.dataset || one.id === "write") ?? after[0];
  target?.focus();
}
