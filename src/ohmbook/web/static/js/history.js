/** The history: undo an act, choose what is kept beside, strike, restore and revise readings. */
import { follow } from "./fill.js";
import { post, tell } from "./outbox.js";
import { api } from "./partform.js";

const body = document.getElementById("body");

async function asked(doing, fault) {
  try {
    await doing();
  } catch (error) {
    if (fault) fault.textContent = error.message;
    else tell(error.message);
  }
}

function seen(target) {
  const { reading, base } = target.closest("[data-reading]").dataset;
  return { reading, base: Number(base) };
}

body.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const { undo, choose, keep } = button.dataset;
  if (undo) asked(() => post("/api/undo", { act: Number(undo) }));
  else if (choose) asked(() => post("/api/choose", { act: Number(choose), keep: keep === "yes" }));
  else if ("restore" in button.dataset) asked(() => post(api("readings/strike"), seen(button)));
});

body.addEventListener("submit", (event) => {
  event.preventDefault();
  const form = event.target;
  const fault = form.querySelector(".fault");
  fault.textContent = "";
  if (form.matches(".strike-form")) {
    asked(() => post(api("readings/strike"), { ...seen(form), why: form.elements.why.value }), fault);
  } else if (form.matches(".revise-form")) {
    asked(() => post(api("readings/revise"), { ...seen(form), text: form.elements.text.value }), fault);
  }
});

follow([body], () => false, (error) => tell(error.message));
