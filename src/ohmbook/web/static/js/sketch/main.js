/** The sketch page. */
import { ask } from "../api.js";
import { Editor } from "./editor.js";
import { setUpForms } from "./forms.js";
import { described, setUpKeys } from "./keys.js";
import { setUpPanel } from "./panel.js";
import { setUpPointer } from "./pointer.js";
import { G } from "./geometry.js";
import { draw, drawAbout, drawShown, drawView, farChanged, whole } from "./render.js";
import { setUpSaving } from "./saving.js";
import { t } from "../words.js";

const svg = document.getElementById("canvas");
const { board } = document.body.dataset;
const url = `/api/b/${encodeURIComponent(board)}/sketch`;
const editor = new Editor({ parts: {}, wires: [], junctions: [], names: [], marks: [], photo: null });

editor.wanted = (new URLSearchParams(location.search).get("read") ?? "").split(",").filter(Boolean);

let saying = 0;
function say(text) {
  clearTimeout(saying);
  saying = setTimeout(() => (document.getElementById("sketch-live").textContent = text), 120);
}

const layer = (name) => svg.querySelector(`[data-layer="${name}"]`);
const isBare = (id) => {
  const one = editor.state.parts[id];
  const told = editor.look.parts?.find((part) => part.name === one.name);
  return told ? told.bare : !one.raw.marking && !one.raw.value;
};

function looked(look) {
  editor.look = look;
  forms.connect(look.connected);
  document.getElementById("sketch-held").textContent = look.held ? t("sketch.held", { why: look.held }) : "";
  editor.tell("look");
}

const forms = setUpForms(editor, { svg, url, looked, say });
const { asks } = forms;

function showWhole() {
  editor.view = whole(svg, editor.state);
  editor.tell("view");
}

function goTo(spot) {
  const { width, height } = svg.getBoundingClientRect();
  editor.view = { ...editor.view, x: spot[0] - width / editor.view.zoom / G / 2, y: spot[1] - height / editor.view.zoom / G / 2 };
  editor.cursor = spot;
  editor.byKeys = true;
  editor.tell("view");
  editor.tell("shown");
  svg.focus({ preventScroll: true });
  say(described(editor, spot));
}

const saving = setUpSaving(board, editor, {
  url,
  looked,
  failed: (message) => (document.getElementById("sketch-failed").textContent = message),
  waiting: (yes) => (svg.dataset.written = String(!yes)),
});

let asking = false;
let again = false;
async function fetchValues() {
  again = true;
  if (asking) return;
  asking = true;
  try {
    while (again) {
      again = false;
      try {
        editor.values = await ask(`${url}/values`);
        editor.tell("values");
      } catch {
        /* the server is away: the values that stand there stay */
      }
    }
  } finally {
    asking = false;
  }
}

editor.on((what) => {
  if (["state", "state-shown", "replaced", "chosen", "carried", "values"].includes(what)) draw(svg, editor, `${url}/photo`);
  if (what === "look") draw(svg, editor, `${url}/photo`);
  if (["shown", "tool"].includes(what)) drawShown(layer("shown"), editor);
  if (what === "look") drawAbout(layer("about"), editor);
  if (what === "view") {
    if (farChanged(editor)) draw(svg, editor, `${url}/photo`);
    drawView(svg, editor);
  }
  if (what === "state") saving.soon();
});

setUpPanel(editor, { svg, url, whole: showWhole, isBare, goTo, asks });
setUpPointer(svg, editor, asks);
setUpKeys(svg, editor, { asks, say, isBare, whole: showWhole });
document.addEventListener("ohmbook:saved", fetchValues);
document.addEventListener("ohmbook:changed", fetchValues);
new ResizeObserver(() => drawView(svg, editor)).observe(svg);

try {
  await saving.begin();
} catch (error) {
  document.getElementById("sketch-failed").textContent = error.message;
}
showWhole();
svg.dataset.ready = "true";
editor.tell("look");
fetchValues();
