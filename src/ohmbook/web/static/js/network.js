/** Use your phone: show passes, see who is in, and end it for one. */
import { ask, send } from "./api.js";
import { tell } from "./outbox.js";
import { t } from "./words.js";

const LOOK_MS = 2000;
const by = (id) => document.getElementById(id);

function showPass(state) {
  by("with-pass").hidden = !state.word;
  by("no-pass").hidden = Boolean(state.word);
  if (by("word").textContent === (state.word ?? "")) return;
  by("word").textContent = state.word ?? "";
  const places = document.querySelectorAll(".code");
  state.codes.forEach((one, k) => {
    // the server's own drawing of its own address: no text of anybody's is in it
    places[k].innerHTML = one.code ?? "";
  });
}

function row(guest) {
  const line = document.createElement("li");
  for (const text of [guest.device, guest.address, guest.since]) {
    const part = document.createElement("span");
    part.textContent = text;
    line.append(part);
  }
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = t("network.end");
  button.setAttribute("aria-label", t("network.end_name", guest));
  button.addEventListener("click", () => act("/api/network/end", { number: guest.number }, "ended"));
  line.append(button);
  return line;
}

let seen = "";
function show(state) {
  showPass(state);
  const now = JSON.stringify(state.guests);
  if (now === seen) return;
  seen = now;
  by("guests").replaceChildren(...state.guests.map(row));
  if (!state.guests.length) {
    const nobody = document.createElement("li");
    nobody.textContent = t("network.nobody");
    by("guests").append(nobody);
  }
}

let acts = 0;
async function act(url, body, said) {
  acts += 1;
  try {
    show(await send(url, body));
    if (said) by("state").textContent = t(`network.${said}`);
  } catch (error) {
    tell(error.message);
  }
}

async function look() {
  const begun = acts;
  try {
    const state = await ask("/api/network");
    if (begun === acts) show(state); // else it was asked before something was done
  } catch {
    /* away: asked again */
  } finally {
    setTimeout(look, LOOK_MS);
  }
}

if (by("fresh")) {
  by("fresh").addEventListener("click", () => act("/api/network/pass", {}));
  look();
}
