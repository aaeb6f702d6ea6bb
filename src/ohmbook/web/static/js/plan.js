// @ts-check
/** The plan: made, typed into, checked while it is typed, written down step by step. */
import { Told, ask, latest, send } from "./api.js";
import { drop, keep, kept } from "./keep.js";
import { concerns } from "./live.js";
import { post, tell } from "./outbox.js";
import { t } from "./words.js";

const by = (id) => document.getElementById(id);
const board = document.body.dataset.board ?? "";
const here = `/b/${encodeURIComponent(board)}/plan`;
const api = `/api${here}`;
const DRAFT = `plan:${board}`;
const PROPOSED = `plan-new:${board}`;
const LOOK_MS = 300;
const PAUSE_MS = 250;
const SLOW_MS = 700;
const BARE = /^[+-]?[\d.,]+(e[+-]?\d+)?$/i;
const SIGN = { good: "✓", doubtful: "?", bad: "!", alone: "·" };

const stepsAt = () => /** @type {HTMLElement[]} */ ([...document.querySelectorAll(".step-at:not(.done)")]);
const readsOf = (step) => [...step.querySelectorAll(".read")];
const inputOf = (read) => /** @type {HTMLInputElement} */ (read.querySelector("input"));

/* what is typed */

function numbersOf(step) {
  const found = {};
  for (const read of readsOf(step)) {
    const text = inputOf(read).value.trim();
    if (!text) continue;
    found[read.dataset.place] = BARE.test(text) ? `${text} ${read.dataset.unit}` : text;
  }
  return found;
}

/** A step as the server takes it. */
function stepOf(step) {
  const found = { name: step.dataset.name, numbers: numbersOf(step) };
  if (step.dataset.new) found.reading = JSON.parse(step.dataset.reading);
  else found.base = Number(step.dataset.base);
  return found;
}

function keepDraft() {
  const found = Object.fromEntries(
    stepsAt().map((step) => [
      step.dataset.name,
      Object.fromEntries(readsOf(step).map((read) => [read.dataset.place, inputOf(read).value])),
    ])
  );
  keep(DRAFT, found);
}

function restoreDraft() {
  const found = kept(DRAFT) ?? {};
  for (const step of stepsAt()) {
    for (const read of readsOf(step)) {
      const text = found[step.dataset.name]?.[read.dataset.place];
      if (text) inputOf(read).value = text;
    }
  }
}

/* what the readings say by now */

const look = latest(
  (steps) => send(`${api}/check`, { steps }),
  (found) => show(found),
  (error) => {
    clearTimeout(slow);
    by("enough").textContent = error.message;
  }
);

let pause = 0;
let slow = 0;
/** Looked at once the typing rests; where that takes long, as it does when numbers disagree, it says so. */
function lookSoon() {
  clearTimeout(pause);
  clearTimeout(slow);
  slow = window.setTimeout(() => (by("enough").textContent = t("plan.by_now_wait")), PAUSE_MS + SLOW_MS);
  pause = window.setTimeout(() => look(stepsAt().map(stepOf)), PAUSE_MS);
}

/** What was said of a cell was said of what stood there before. */
function unsaid(input) {
  const read = input.closest(".read");
  if (!read) return;
  read.dataset.mark = "";
  input.removeAttribute("aria-invalid");
  read.querySelector(".sign").textContent = "";
}

function show(found) {
  clearTimeout(slow);
  for (const step of stepsAt()) {
    const cells = found.cells[step.dataset.name] ?? {};
    for (const read of readsOf(step)) showCell(read, cells[read.dataset.place] ?? {});
    showStep(step);
  }
  showWords(found);
  for (const [name, value] of found.values) showValue(name, value);
}

function showCell(read, cell) {
  const input = inputOf(read);
  if (cell.expected) read.querySelector(".expected").textContent = t("plan.expected", { value: cell.expected });
  if (cell.unit && !input.value.trim()) setUnit(read, cell.unit);
  const state = input.value.trim() ? cell.state || "" : "";
  read.dataset.mark = state;
  input.toggleAttribute("aria-invalid", false);
  if (state === "bad" || state === "doubtful") input.setAttribute("aria-invalid", "true");
  const words = state ? `${SIGN[state]} ${cell.told || t(`plan.${state}`)}` : "";
  const sign = read.querySelector(".sign");
  if (sign.textContent !== words) sign.textContent = words;
}

function setUnit(read, unit) {
  read.dataset.unit = unit;
  read.querySelector(".unit").textContent = unit;
  const input = inputOf(read);
  const label = read.closest("fieldset").querySelector("legend").textContent;
  const at = read.querySelector(".at")?.textContent ?? "";
  input.setAttribute("aria-label", t("plan.blank_name", { label, at, unit }));
}

function showStep(step) {
  const any = Object.keys(numbersOf(step)).length > 0;
  const bad = readsOf(step).some((read) => read.dataset.mark === "bad");
  step.querySelector("[data-write]").disabled = !any || bad;
  const ready = stepsAt().some((one) => !one.querySelector("[data-write]").disabled);
  if (by("write-all")) by("write-all").disabled = !ready;
}

function showWords(found) {
  const enough = by("enough");
  enough.textContent = found.trouble ? t("plan.trouble", { told: found.trouble }) : found.enough;
  enough.dataset.reached = found.reached ? "yes" : "";
  by("first").hidden = !found.first;
  by("first").querySelector("p").textContent = found.first;
  const rest = found.told.filter((one) => !found.doubts.includes(one));
  by("told-list").replaceChildren(...rest.map(line));
  by("doubts").hidden = !found.doubts.length;
  by("doubts").querySelector("ul").replaceChildren(...found.doubts.map(line));
}

function line(text) {
  const found = document.createElement("li");
  found.textContent = text;
  return found;
}

function showValue(name, value) {
  const row = [...by("values").children].find((one) => one.dataset.part === name);
  if (!row) return;
  const [, number, spread] = row.children;
  if (!value.determined) {
    number.textContent = t("plan.not_known");
    spread.textContent = "";
    return;
  }
  const unit = document.createElement("span");
  unit.className = "u";
  unit.textContent = value.unit;
  number.replaceChildren(value.value, unit);
  spread.textContent = value.spread;
}

/* writing */

async function writeDown(steps) {
  const some = steps.filter((step) => Object.keys(numbersOf(step)).length);
  if (!some.length) return;
  try {
    const answer = await post(`${api}/write`, { steps: some.map(stepOf) });
    if (answer?.beside) return;
    const whole = some.every((step) => readsOf(step).every((read) => inputOf(read).value.trim()));
    some.forEach((step) => forgetDraft(step.dataset.name));
    await leaveOut(some);
    if (!whole) location.reload();
    else some.forEach(done);
    by("state").textContent = t("plan.wrote");
    lookSoon();
  } catch (error) {
    tell(error.message);
  }
}

function done(step) {
  step.classList.add("done");
  step.setAttribute("aria-disabled", "true");
}

function forgetDraft(name) {
  const found = kept(DRAFT) ?? {};
  delete found[name];
  keep(DRAFT, found);
}

/** A plan that is not kept yet goes on without the steps that are written down. */
async function leaveOut(steps) {
  if (!steps.some((step) => step.dataset.new)) return;
  const left = stepsAt().filter((step) => step.dataset.new && !steps.includes(step));
  if (!left.length) {
    drop(PROPOSED);
    history.replaceState(null, "", here);
    return;
  }
  await takeUp(left.map((step) => JSON.parse(step.dataset.reading)), false);
}

async function takeUp(readings, go) {
  const answer = await send(`${api}/again`, { readings });
  keep(PROPOSED, { plan: answer.plan, readings });
  const url = `${here}?made=${encodeURIComponent(answer.plan)}`;
  if (go) location.replace(url);
  else history.replaceState(null, "", url);
}

async function keepPlan() {
  const steps = stepsAt().filter((step) => step.dataset.new);
  try {
    await post(`${api}/keep`, { steps: steps.map(stepOf) });
    drop(PROPOSED);
    steps.forEach((step) => forgetDraft(step.dataset.name));
    location.replace(here);
  } catch (error) {
    tell(error.message);
  }
}

async function dropStep(step) {
  try {
    await post(`${api}/drop`, { steps: [{ ...stepOf(step), numbers: {} }] });
    forgetDraft(step.dataset.name);
    step.remove();
    lookSoon();
  } catch (error) {
    tell(error.message);
  }
}

/* making */

let making = "";

async function make(form) {
  const want = form.elements.want.value;
  const body = {
    want: want ? [want] : [],
    within: Number(form.elements.within.value),
    numbers: Number(form.elements.numbers.value),
  };
  by("working-told").textContent = "";
  try {
    begun((await send(api, body)).plan);
  } catch (error) {
    by("working-told").textContent = error.message;
  }
}

function begun(plan) {
  making = plan;
  by("working").hidden = false;
  watch(plan);
}

async function watch(plan) {
  if (making !== plan) return;
  try {
    const found = await ask(`${api}/${plan}`);
    by("share").value = found.share;
    if (found.made) {
      keep(PROPOSED, { plan });
      location.assign(`${here}?made=${encodeURIComponent(plan)}`);
      return;
    }
    if (found.told) return ended(found.told);
  } catch (error) {
    if (error instanceof Told) return ended(error.message);
  }
  setTimeout(() => watch(plan), LOOK_MS);
}

function ended(words) {
  making = "";
  by("working").hidden = true;
  by("working-told").textContent = words;
}

async function cancel() {
  const plan = making;
  ended(t("plan.ended"));
  await send(`${api}/end`, { plan }).catch(() => {});
}

async function fillWants() {
  const found = await ask(`${api}/wants`).catch(() => null);
  if (!found) return;
  for (const group of ["groups", "features"]) {
    if (!found[group].length) continue;
    const place = document.createElement("optgroup");
    place.label = t(`plan.want_${group}`);
    for (const name of found[group]) place.append(new Option(name, name));
    by("want").append(place);
  }
}

/* begin */

function begin() {
  for (const read of document.querySelectorAll(".read")) {
    read.dataset.unit = read.querySelector(".unit").textContent;
  }
  const news = stepsAt().filter((step) => step.dataset.new);
  if (news.length) {
    const plan = new URLSearchParams(location.search).get("made");
    keep(PROPOSED, { plan, readings: news.map((step) => JSON.parse(step.dataset.reading)) });
  }
  restoreDraft();
  for (const step of stepsAt()) {
    step.addEventListener("input", (event) => {
      unsaid(event.target);
      keepDraft();
      showStep(step);
      lookSoon();
    });
    step.addEventListener("keydown", (event) => next(event, step));
    step.querySelector("[data-write]").addEventListener("click", () => writeDown([step]));
    step.querySelector("[data-drop]")?.addEventListener("click", () => dropStep(step));
    showStep(step);
  }
  by("keep")?.addEventListener("click", keepPlan);
  by("forget")?.addEventListener("click", () => {
    drop(PROPOSED);
    location.assign(here);
  });
  by("print")?.addEventListener("click", () => window.print());
  by("write-all")?.addEventListener("click", () =>
    writeDown(stepsAt().filter((step) => !step.querySelector("[data-write]").disabled))
  );
  by("maker").addEventListener("submit", (event) => {
    event.preventDefault();
    make(event.target);
  });
  by("cancel").addEventListener("click", cancel);
  document.addEventListener("ohmbook:changed", (event) => {
    if (concerns(event.detail, board)) lookSoon();
  });
  if (by("plan").dataset.making) begun(by("plan").dataset.making);
  look(stepsAt().map(stepOf));
  fillWants();
}

/** Enter goes on to the next blank. */
function next(event, step) {
  if (event.key !== "Enter" || !(event.target instanceof HTMLInputElement)) return;
  event.preventDefault();
  const every = [...document.querySelectorAll(".step-at:not(.done) .read input")];
  const following = every[every.indexOf(event.target) + (event.shiftKey ? -1 : 1)];
  if (following instanceof HTMLElement) following.focus();
  else step.querySelector("[data-write]").focus();
}

const proposed = kept(PROPOSED);
const asked = new URLSearchParams(location.search).get("made");
if (by("plan").dataset.gone && proposed?.readings && proposed.plan === asked) {
  by("state").textContent = t("plan.again");
  takeUp(proposed.readings, true).catch((error) => tell(error.message));
} else if (by("plan").dataset.gone) {
  tell(t("plan.gone"));
} else if (!asked && proposed?.plan) {
  location.replace(`${here}?made=${encodeURIComponent(proposed.plan)}`);
}
if (by("maker")) begin();
