// @ts-check
/** Taking a reading: the form, what it comes to while it is typed, the draft, writing it down. */
import { latest, send } from "./api.js";
import { drop, keep, kept } from "./keep.js";
import { concerns } from "./live.js";
import { post, tell, unsent } from "./outbox.js";
import { setUpPad } from "./pad.js";
import { applies, arrange, control, controls, fill, restore, snapshot, typed } from "./readform.js";
import { el, inWords, placeDoubts, showDoubts, showFaults, showSetups, showValues } from "./readshow.js";
import { fieldControls, same, showKind, unfold } from "./readstart.js";
import { readTable } from "./readtable.js";
import { t } from "./words.js";

const by = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
const data = JSON.parse(by("reading-data").textContent ?? "{}");
const form = /** @type {HTMLFormElement} */ (by("form"));
const api = `/api/b/${encodeURIComponent(data.board)}/reading`;
const here = location.pathname;
const DRAFT = draftName();
const tables = {};
let found = /** @type {any} */ (null);
let shownFor = "";
let done = false;

// drafts

/** One draft for each kind and board, and for each thing that the page was opened for. */
function draftName() {
  const query = new URLSearchParams(location.search);
  query.delete("kind");
  return `reading:${data.board}:${data.form.kind}:${query}`;
}

function draft() {
  const held = Object.fromEntries(Object.entries(tables).map(([name, one]) => [name, one.snapshot()]));
  return { controls: snapshot(), tables: held, base: data.base };
}

function putBack(one) {
  data.base = one.base; // what its writer saw: a change by someone else since is not overwritten
  restore(one.controls);
  for (const [name, held] of Object.entries(one.tables)) tables[name]?.restore(held);
  for (const each of /** @type {NodeListOf<HTMLSelectElement>} */ (form.querySelectorAll("[data-table-unit]"))) {
    each.value = tables[each.dataset.tableUnit ?? ""].unit();
  }
}

// what it comes to

function asked() {
  const texts = Object.fromEntries(Object.entries(tables).map(([name, one]) => [name, one.text]));
  return { ...typed(data, texts), revises: data.revises };
}

const preview = latest(
  (state) => send(`${api}/preview`, state),
  (answer, state) => {
    shownFor = JSON.stringify(state);
    show(answer);
  },
  () => {},
);

function show(answer) {
  if (done) return;
  found = answer;
  for (const one of Object.values(tables)) one.clear();
  const left = showFaults(answer.faults, tables, use);
  if (!answer.faults.length) for (const one of Object.values(tables)) one.mark(answer.marks);
  showSetups(answer.setups);
  showValues(answer);
  showDoubts(answer, left, use);
  showWanting(answer.faults);
}

function showWanting(faults) {
  const stands = asked().reading;
  const of = (name) => data.form.fields.find((one) => one.name === name);
  const needed = data.form.fields.filter((one) => one.required && applies(one) && !(one.name in stands));
  const asks = faults.filter((one) => one.blank && (!of(one.place[0]) || applies(of(one.place[0]))));
  const blank = [...needed.map((one) => one.label), ...asks.map((one) => labelOf(one.place))];
  const bad = faults.some((one) => !one.blank);
  const text = bad ? t("reading.faulty") : blank.length ? t("reading.wanted", { names: [...new Set(blank)].join(", ") }) : "";
  if (by("wanting").textContent !== text) by("wanting").textContent = text;
}

function labelOf(place) {
  const name = place[0];
  if (place.length > 2) return (place[2][0].toUpperCase() + place[2].slice(1)).replaceAll("_", " ");
  if (name === "kind") return data.form.fields.filter((one) => one.result).map((one) => one.label).join(" / ");
  return data.form.fields.find((one) => one.name === name)?.label ?? name;
}

/** Put what would mend it into the form. */
function use(fix) {
  const [field, ...rest] = fix.place;
  const declared = data.form.fields.find((one) => one.name === field);
  if (rest.length === 2 && tables[field]) tables[field].set(rest[0], rest[1], fix.text);
  else if (declared?.what === "names") {
    for (const one of controls(`f.${field}`)) if (!fix.text && one.value === fix.words) one.checked = false;
  } else if (declared?.what === "choice") fill(declared, fix.text);
  else {
    const one = control(["f", field, ...rest].join("."));
    if (!one) return;
    one.value = fix.text;
    one.focus();
  }
  changed();
}

function changed() {
  if (done) return;
  arrange();
  keep(DRAFT, draft());
  preview(asked());
}

// writing

async function write(event) {
  event.preventDefault();
  const state = asked();
  by("write").setAttribute("disabled", "");
  if (shownFor !== JSON.stringify(state)) {
    const answer = await send(`${api}/preview`, state).catch(() => null);
    if (answer) show(answer);
    else found = null; // away: it is kept, and written unseen
  }
  if (found?.faults.length) {
    by("write").removeAttribute("disabled");
    pointAt(found.faults[0]);
    return;
  }
  const before = draft();
  const waiting = setTimeout(() => (by("wanting").textContent = t("reading.waits")), 1500);
  try {
    const bases = basesOf(state.beside);
    keep(DRAFT, { ...before, sent: state.reading });
    const saved = await post(api, { ...state, base: data.base, bases });
    drop(DRAFT);
    written(saved, before);
  } catch (error) {
    by("wanting").textContent = "";
    keep(DRAFT, before);
    tell(error.message);
  } finally {
    clearTimeout(waiting);
    by("write").removeAttribute("disabled");
  }
}

function basesOf(beside) {
  const seen = {};
  for (const [section, held] of Object.entries(beside)) {
    seen[section] = Object.fromEntries(Object.keys(held).map((name) => [name, data.bases[section]?.[name] ?? 0]));
  }
  return seen;
}

function pointAt(fault) {
  const name = fault.place[0] === "parts" ? `p.${fault.place[2] ?? "name"}` : `f.${fault.place[0]}`;
  const one = control(name) ?? control(`${name}.0`) ?? form.querySelector(`[name^="${CSS.escape(name)}."]`);
  const more = one?.closest("details");
  if (more) more.open = true;
  if (fault.blank && one) one.setAttribute("aria-invalid", "true");
  one?.focus();
}

function written(saved, before) {
  done = true;
  const value = inWords(found);
  if (data.form.checks_source && !data.revises && data.next !== data.form.kind) {
    sessionStorage.setItem("reading:flash", t("reading.checked", { value }));
    location.assign(`${here}?kind=${encodeURIComponent(data.next)}`);
    return;
  }
  const place = by("done");
  const button = (text, press, main = false) => {
    const one = el("button", { type: "button", class: main ? "button main" : "button" }, text);
    one.addEventListener("click", press);
    return one;
  };
  const part = typed(data, {}).reading.part;
  const to = here.replace(/\/reading$/, part ? `/parts/${encodeURIComponent(part)}` : "/parts");
  const ways = [
    ...(data.revises ? [] : [button(t("reading.another"), () => again(before, saved.another), true)]),
    button(t("reading.undo"), () => takeBack(saved, before)),
    el("a", { class: "button", href: to }, part ? t("reading.to_part", { part }) : t("reading.to_parts")),
  ];
  place.replaceChildren(el("p", { class: "done-line", role: "status" }, el("b", {}, t("reading.written")), ` ${value}`), el("div", { class: "done-ways" }, ...ways));
  place.hidden = false;
  by("write-row").hidden = true;
  by("doubts").replaceChildren();
  place.focus();
}

/** The clips stay; what was read is empty, and the frequency has moved on. */
async function again(before, moved) {
  sessionStorage.setItem("reading:again", JSON.stringify({ before, moved }));
  location.assign(`${here}?kind=${encodeURIComponent(data.form.kind)}`);
}

async function takeBack(saved, before) {
  try {
    await post("/api/undo", { act: saved.act });
  } catch (error) {
    tell(error.message);
    return;
  }
  done = false;
  by("done").hidden = true;
  by("write-row").hidden = false;
  putBack(before);
  changed();
  by("wanting").textContent = t("reading.undone");
  by("write").focus();
}

// beginning

function begin() {
  for (const [name, given] of Object.entries(data.tables)) {
    const host = /** @type {HTMLElement} */ (form.querySelector(`[data-table="${CSS.escape(name)}"]`));
    const field = data.form.fields.find((one) => one.name === name);
    tables[name] = readTable(host, given, field.label, () => changed());
    const unit = /** @type {HTMLSelectElement|null} */ (form.querySelector(`[data-table-unit="${CSS.escape(name)}"]`));
    if (unit) {
      unit.value = tables[name].unit();
      unit.addEventListener("change", () => tables[name].inUnit(unit.value));
    }
    form.querySelector(`[data-add-row="${CSS.escape(name)}"]`)?.addEventListener("click", () => tables[name].add());
  }
  const way = controls("way").find((one) => Number(one.value) === data.way);
  if (way) way.checked = true;
  for (const one of form.querySelectorAll("[data-usual]")) /** @type {any} */ (one).checked = true;
  for (const field of data.form.fields) {
    if (data.values[field.name] !== undefined) fill(field, data.values[field.name]);
  }
  for (const [place, text] of Object.entries(data.expected)) {
    const one = control(`f.${place}`);
    if (one) {
      one.placeholder = text;
      const note = document.getElementById(`f.${place}-note`);
      if (note) note.textContent = note.dataset.help = t("reading.expected", { text });
    }
  }
}

function arrive() {
  const flash = sessionStorage.getItem("reading:flash");
  sessionStorage.removeItem("reading:flash");
  if (flash) {
    by("flash").textContent = flash;
    by("flash").hidden = false;
  }
  const more = JSON.parse(sessionStorage.getItem("reading:again") ?? "null");
  sessionStorage.removeItem("reading:again");
  const left = kept(DRAFT);
  if (more) startAgain(more);
  else if (left?.sent && same(left.sent, data.last)) drop(DRAFT);
  else if (left && !waits()) putBack(left);
}

/** Whether the very draft is on its way to the notebook already. */
function waits() {
  return unsent() && (kept("outbox") ?? []).some((one) => one.url === api);
}

function startAgain({ before, moved }) {
  putBack(before);
  const select = /** @type {any} */ (form.querySelector("select[data-part]"));
  const made = before.controls["p.name"];
  if (select && before.controls[select.name]?.new && made) {
    if ([...select.options].some((one) => one.value === made)) select.value = made;
  }
  const shown = data.form.fields.filter(applies);
  const results = shown.filter((one) => one.result);
  for (const one of results) {
    if (one.what === "table") tables[one.name].empty();
    else for (const each of fieldControls(one)) each.value = "";
  }
  for (const one of shown.filter((each) => each.unit === "Hz" && !each.result)) {
    if (moved[one.name]) control(`f.${one.name}`).value = results.length ? moved[one.name] : "";
  }
}

/** A new part's name follows its kind until it is typed. */
function nameFollows() {
  const [name, kind] = [control("p.name"), controls("p.kind").find((one) => one.checked)];
  if (!name || !kind) return;
  if (Object.values(data.free).includes(name.value) || !name.value) name.value = data.free[kind.value];
}

function emptied() {
  drop(DRAFT);
  location.assign(`${here}?kind=${encodeURIComponent(data.form.kind)}`);
}

placeDoubts();
showKind();
begin();
arrive();
setUpPad(data.unit_keys);
nameFollows(); // what was chosen while this script was on its way
unfold();
arrange();
showSetups(data.setups);
preview(asked());
form.addEventListener("input", (event) => {
  if (/** @type {any} */ (event.target).name === "p.kind") nameFollows();
  changed();
});
form.addEventListener("submit", write);
form.addEventListener("keydown", (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  // Enter in a field goes to the next one; the last one writes
  if (event.key !== "Enter" || event.defaultPrevented || target.tagName !== "INPUT" || target.closest(".grid")) return;
  const fields = [...form.querySelectorAll(".step input.num")].filter((one) => one.checkVisibility());
  const next = fields[fields.indexOf(target) + 1];
  if (fields.includes(target) && next) {
    event.preventDefault();
    /** @type {any} */ (next).focus();
  }
});
by("clear").addEventListener("click", emptied);
document.addEventListener("ohmbook:changed", (event) => {
  if (!done && concerns(/** @type {CustomEvent} */ (event).detail, data.board)) preview(asked());
});
window.addEventListener("pageshow", (event) => {
  if (event.persisted) location.reload();
});
