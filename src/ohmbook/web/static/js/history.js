/** The history page: strike and restore readings, undo an act, choose what was kept beside. */
import { concerns } from "./live.js";
import { post, tell } from "./outbox.js";

const board = document.body.dataset.board;
const api = `/api/b/${encodeURIComponent(board)}`;

async function write(url, body) {
  try {
    await post(url, body);
    await renew();
  } catch (error) {
    tell(error.message);
  }
}

/** The page's content as the server has it now, in the place of what is shown. */
async function renew() {
  const answer = await fetch(location.href, { credentials: "same-origin" });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const held = document.activeElement?.closest?.("[data-reading], [data-act]");
  document.getElementById("main").replaceChildren(...fresh.getElementById("main").childNodes);
  if (held) again(held);
  localTimes();
}

/** Put the focus back to where it was. */
function again(held) {
  const { reading, act } = held.dataset;
  const found = [...document.querySelectorAll(reading ? "[data-reading]" : "[data-act]")];
  const row = found.find((one) => (reading ? one.dataset.reading === reading : one.dataset.act === act));
  (row?.querySelector("button, a") ?? document.getElementById("main")).focus();
}

function localTimes() {
  for (const one of document.querySelectorAll(".when time")) {
    const when = new Date(one.dateTime);
    if (!Number.isNaN(when.valueOf())) {
      one.textContent = when.toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
    }
  }
}

const DEEDS = {
  strike(row, button) {
    const form = row.querySelector(".why");
    form.hidden = !form.hidden;
    button.setAttribute("aria-expanded", String(!form.hidden));
    if (!form.hidden) form.elements.why.focus();
  },
  restore: (row) =>
    write(`${api}/restore`, { reading: row.dataset.reading, entry: Number(row.dataset.entry) }),
  undo: (row) => write("/api/undo", { act: Number(row.dataset.act) }),
  count: (row) => write("/api/choose", { act: Number(row.dataset.act), keep: true }),
  leave: (row) => write("/api/choose", { act: Number(row.dataset.act), keep: false }),
};

const main = document.getElementById("main");
main.addEventListener("click", (event) => {
  const button = event.target.closest("[data-do]");
  if (button) DEEDS[button.dataset.do](button.closest("li"), button);
});
main.addEventListener("submit", (event) => {
  event.preventDefault();
  const row = event.target.closest("li");
  write(`${api}/strike`, {
    reading: row.dataset.reading,
    entry: Number(row.dataset.entry),
    why: event.target.elements.why.value,
  });
});
document.addEventListener("ohmbook:changed", (event) => {
  const typing = document.querySelector(".why:not([hidden])");
  if (concerns(event.detail, board) && !typing) renew();
});
localTimes();
