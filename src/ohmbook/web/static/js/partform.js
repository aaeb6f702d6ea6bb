/** A part's form, and what can be done with a part: each a write with the entry that was seen. */
import { post, tell } from "./outbox.js";
import { t } from "./words.js";

const board = encodeURIComponent(document.body.dataset.board);

/** The address of a board's write. @param {string} what */
export const api = (what) => `/api/b/${board}/${what}`;

/** Show only the fields that a kind of part has. @param {HTMLFormElement} form */
export function byKind(form) {
  const show = () => {
    for (const one of form.querySelectorAll("[data-kinds]")) {
      one.hidden = !one.dataset.kinds.split(" ").includes(form.elements.kind.value);
    }
  };
  form.elements.kind.addEventListener("change", show);
  show();
}

/** What a form says of a part, hidden fields as not stated. @param {HTMLFormElement} form */
export function said(form) {
  const found = {};
  for (const one of form.elements) {
    if (!one.name || one.name === "kind" || one.name === "name") continue;
    found[one.name] = one.closest("[hidden]") ? "" : one.value;
  }
  return found;
}

/** Write when a form is sent, and tell in it what is at fault.
 * @param {HTMLFormElement} form @param {() => Promise<void>} doing */
export function onSend(form, doing) {
  for (const one of form.querySelectorAll("button")) one.disabled = false; // sent by nobody before
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const fault = form.querySelector(".fault");
    fault.textContent = "";
    try {
      await doing();
    } catch (error) {
      fault.textContent = error.message;
    }
  });
}

/** Fixes of slips, wherever on the page. */
export function onFix() {
  document.addEventListener("click", async (event) => {
    const button = event.target.closest?.("[data-fix]");
    if (!button) return;
    button.disabled = true;
    const { fix, text, base } = button.dataset;
    try {
      await post(api("readings/revise"), { reading: fix, text, base: Number(base) });
    } catch (error) {
      button.disabled = false;
      tell(error.message);
    }
  });
}

/** Whatever was done with a part, told on the page it is gone from. @param {string} text */
export function tellThere(text) {
  sessionStorage.setItem("ohmbook:told", text);
}

/** Tell what the page before left to tell. */
export function tellFromBefore() {
  const text = sessionStorage.getItem("ohmbook:told");
  sessionStorage.removeItem("ohmbook:told");
  if (text) tell(text);
}

export { t };
