// @ts-check
/** Small things that the reading page does when it opens. */

const form = /** @type {HTMLFormElement} */ (document.getElementById("form"));

/** The kind that is chosen is in sight where the kinds are a row to be pushed along. */
export function showKind() {
  const one = /** @type {HTMLElement|null} */ (document.querySelector(".kinds [aria-current]"));
  if (one?.parentElement) one.parentElement.scrollLeft = one.offsetLeft - one.parentElement.offsetLeft - 16;
}

/** What is folded away and yet says something is opened. */
export function unfold() {
  for (const one of /** @type {any[]} */ ([...form.elements])) {
    const says = one.type === "checkbox" ? one.checked : one.type !== "radio" && one.tagName !== "FIELDSET" && one.value;
    for (let fold = one.closest?.("#more, .fold"); says && fold; fold = fold.parentElement?.closest("#more")) fold.open = true;
  }
}

/** Whether what was sent has been written since, though its answer never came. */
export function same(sent, last) {
  const text = (one) => JSON.stringify(Object.entries(one ?? {}).filter(([name]) => name !== "name").sort());
  return text(sent) === text(last);
}

/** Every control of a field. @param {{name: string}} field */
export function fieldControls(field) {
  const name = `f.${field.name}`;
  return /** @type {any[]} */ ([...form.elements]).filter((one) => one.name === name || one.name?.startsWith(`${name}.`));
}
