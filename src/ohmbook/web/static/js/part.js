/** One part: what is known beforehand, what is attached, and where it goes. */
import { Told, upload } from "./api.js";
import { follow } from "./fill.js";
import { learn, post, tell } from "./outbox.js";
import { api, byKind, onFix, onSend, said, tellThere } from "./partform.js";
import { t } from "./words.js";

const MOST = 25e6;
const by = (id) => document.getElementById(id);
const part = by("part").dataset.part;
const body = by("body");
const next = by("next");

const form = by("edit-form");
if (form) {
  byKind(form);
  onSend(form, async () => {
    const { name, base } = form.dataset;
    const written = { name, kind: form.elements.kind.value, said: said(form), base: Number(base) };
    const saved = await post(api("parts"), written);
    if (!saved?.beside) location.reload();
  });
}

const DEEDS = {
  out: (one) => post(api("parts/out"), { name: part, base: Number(one.dataset.base) }),
  away: () => post(api("parts/away"), { name: part, settled: false }),
  "away-settled": () => post(api("parts/away"), { name: part, settled: true }),
};
for (const button of document.querySelectorAll("[data-do]")) {
  button.disabled = false;
  button.addEventListener("click", async () => {
    try {
      const saved = await DEEDS[button.dataset.do](button);
      if (saved?.beside) return;
      const said = t(button.dataset.do === "out" ? "parts.out_done" : "parts.away_done", { part });
      tellThere(saved?.told ? `${saved.told} ${said}` : said);
      location.assign(`/b/${encodeURIComponent(document.body.dataset.board)}/parts`);
    } catch (error) {
      tell(error.message);
    }
  });
}

async function attach(files) {
  for (const file of files) {
    if (file.size > MOST) {
      tell(t("parts.attach_too_large", { part: file.name }));
      continue;
    }
    by("attach-told").textContent = t("parts.attaching", { part: file.name });
    const query = new URLSearchParams({ part, name: file.name || "pasted.png" });
    try {
      const saved = await upload(`${api("attach")}?${query}`, file);
      learn(saved.act ?? 0);
    } catch (error) {
      tell(error instanceof Told ? error.message : t("base.away"));
    } finally {
      by("attach-told").textContent = t("parts.attach_more");
    }
  }
}

by("file").addEventListener("change", (event) => {
  attach([...event.target.files]);
  event.target.value = "";
});
document.addEventListener("paste", (event) => {
  const files = [...(event.clipboardData?.files ?? [])];
  if (files.length) attach(files);
});
document.addEventListener("dragover", (event) => {
  event.preventDefault();
  by("drop").classList.add("over");
});
document.addEventListener("dragleave", () => by("drop").classList.remove("over"));
document.addEventListener("drop", (event) => {
  event.preventDefault();
  by("drop").classList.remove("over");
  attach([...(event.dataTransfer?.files ?? [])]);
});
document.addEventListener("click", async (event) => {
  const button = event.target.closest?.("[data-take-off]");
  if (!button) return;
  try {
    await post(api("attach/out"), { name: button.dataset.takeOff, base: Number(button.dataset.base) });
  } catch (error) {
    tell(error.message);
  }
});

onFix();
follow(next ? [body, next] : [body], () => body.querySelector("[data-pending=yes]") !== null, (error) => tell(error.message));
