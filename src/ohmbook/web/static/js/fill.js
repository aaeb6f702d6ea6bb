/** Pieces of a page that the server makes anew: put in place without losing where the person is. */
import { latest } from "./api.js";
import { concerns } from "./live.js";

/** Markup of our own server's, everything in it escaped there; null where it is no more.
 * @param {string} url @returns {Promise<string | null>} */
async function markup(url) {
  const answer = await fetch(url, { credentials: "same-origin" });
  if (answer.status >= 500) throw new Error(`status ${answer.status}`);
  if (answer.status === 404) return null; // the board was taken back; every page says so by itself
  if (!answer.ok) throw new Error((await answer.json()).told);
  return answer.text();
}

/** Put a piece anew in its place; what was folded open stays so, and the focus where it was.
 * @param {HTMLElement} place with its address in `data-url` */
export async function fill(place) {
  const text = await markup(place.dataset.url);
  if (text === null) return;
  const parsed = new DOMParser().parseFromString(text, "text/html");
  const open = [...place.querySelectorAll("details[open] > summary")].map((one) => plain(one));
  const held = focusIn(place);
  place.replaceChildren(...parsed.body.childNodes);
  for (const one of place.querySelectorAll("details > summary")) {
    if (open.includes(plain(one))) one.parentElement.open = true;
  }
  if (held) [...place.querySelectorAll("a, button, summary, input")][held.at]?.focus({ preventScroll: true });
}

const plain = (one) => one.parentElement.dataset.reading ?? one.textContent.replace(/\d+/g, "");

function focusIn(place) {
  const every = [...place.querySelectorAll("a, button, summary, input")];
  const at = every.indexOf(document.activeElement);
  return at < 0 ? null : { at };
}

/** Keep pieces as the notebook stands: fill those that wait, and each of them when it changes.
 * Each has its own turn, so that what is quick does not wait for what is slow.
 * @param {HTMLElement[]} places the first is filled at once only where it waits; the others always
 * @param {() => boolean} waits whether the first is still to be filled
 * @param {(error: Error) => void} failed */
export function follow(places, waits, failed) {
  const fillers = places.map((place) => latest(() => fill(place), () => {}, failed));
  document.addEventListener("ohmbook:changed", (event) => {
    if (concerns(event.detail, document.body.dataset.board)) fillers.forEach((one) => one({}));
  });
  fillers.forEach((one, k) => {
    if (k || waits()) one({});
  });
}
