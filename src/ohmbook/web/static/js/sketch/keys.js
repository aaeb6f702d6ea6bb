/** The whole of the canvas by keys: a grid cursor, a letter for each tool. */
import { G, ends, onPiece, piecesOf, same } from "./geometry.js";
import { everything } from "./chosen.js";
import { act, carry, duplicate, erase, foresee, letGo, pickUp, putDown, turn } from "./tools.js";
import { netUnder, zoomBy } from "./pointer.js";
import { t } from "../words.js";

/** Each tool's letter is the first of its word, or of the part's own sign. */
export const TOOL_KEYS = {
  s: "select",
  l: "inductor",
  c: "capacitor",
  r: "resistor",
  d: "driver",
  w: "wire",
  j: "joint",
  n: "name",
  g: "ground",
  i: "input",
  o: "output",
  p: "probe",
};
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** @param {SVGSVGElement} svg @param {import("./editor.js").Editor} editor
 * @param {{asks: any, say: (text: string) => void, isBare: (id: string) => boolean, whole: () => void}} tools */
export function setUpKeys(svg, editor, { asks, say, isBare, whole }) {
  function step(way, far) {
    editor.byKeys = true;
    const by = way.map((one) => one * (far ? 4 : 1));
    editor.cursor = [editor.cursor[0] + by[0], editor.cursor[1] + by[1]];
    if (editor.pending?.kind === "carry") carry(editor, [editor.pending.by[0] + by[0], editor.pending.by[1] + by[1]]);
    else foresee(editor, editor.cursor, true);
    editor.hover = netUnder(editor, editor.cursor, editor.cursor);
    keepInSight(svg, editor);
    editor.tell("shown");
    say(described(editor, editor.cursor));
  }

  const withCtrl = {
    z: (event) => (event.shiftKey ? editor.redo() : editor.undo()),
    y: () => editor.redo(),
    a: () => editor.choose(everything(editor.state)),
  };
  const plain = {
    Enter: (event) => {
      editor.byKeys = true;
      act(editor, editor.cursor, editor.cursor, asks, { more: event.shiftKey, byKeys: true });
      foresee(editor, editor.cursor, true);
      editor.tell("shown");
      say(described(editor, editor.cursor));
    },
    Escape: () => letGo(editor),
    Delete: () => erase(editor, isBare),
    Backspace: () => erase(editor, isBare),
    "+": () => zoomBy(svg, editor, 1.25),
    "=": () => zoomBy(svg, editor, 1.25),
    "-": () => zoomBy(svg, editor, 0.8),
    0: whole,
    t: () => turn(editor),
    m: () => (editor.pending?.kind === "carry" ? putDown(editor) : pickUp(editor)),
    e: () => asks.edit(),
  };
  plain[" "] = plain.Enter;

  svg.addEventListener("keydown", (event) => {
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    let deed = null;
    if (event.ctrlKey || event.metaKey) deed = withCtrl[key];
    else if (event.altKey) return;
    else if (key in ARROWS) deed = () => step(ARROWS[key], event.shiftKey);
    else if (event.shiftKey && key === "d") deed = () => duplicate(editor);
    else if (event.shiftKey && key === "i") deed = () => takeUp("return");
    else if (key in TOOL_KEYS) deed = () => takeUp(TOOL_KEYS[key]);
    else deed = plain[key];
    if (!deed) return;
    event.preventDefault();
    deed(event);
  });

  function takeUp(tool) {
    editor.take(tool);
    if (editor.byKeys) foresee(editor, editor.cursor, true);
    editor.tell("shown");
    say(t(`sketch.tool_${tool}`));
  }
}

function keepInSight(svg, editor) {
  const box = svg.getBoundingClientRect();
  const { x, y, zoom } = editor.view;
  const [width, height] = [box.width / zoom / G, box.height / zoom / G];
  const [cx, cy] = editor.cursor;
  const nx = Math.min(Math.max(x, cx - width + 2), cx - 2);
  const ny = Math.min(Math.max(y, cy - height + 2), cy - 2);
  if (nx === x && ny === y) return;
  editor.view = { x: nx, y: ny, zoom };
  editor.tell("view");
}

/** What is under the grid cursor, in words. */
export function described(editor, spot) {
  const { state } = editor;
  const found = [];
  for (const one of Object.values(state.parts)) {
    if (!one.place) continue;
    const [a, b] = ends(one.place);
    if (same(a, spot)) found.push(t(one.raw.kind === "driver" ? "sketch.at_plus" : "sketch.at_first", { part: one.name }));
    else if (same(b, spot)) found.push(t("sketch.at_second", { part: one.name }));
    else if (onPiece(spot, a, b)) found.push(one.name);
  }
  for (const one of state.marks) if (same(one.at, spot)) found.push(t(`sketch.at_${one.kind}`, { name: one.name ?? "" }));
  if (state.wires.some((one) => piecesOf(one).some(([a, b]) => onPiece(spot, a, b)))) found.push(t("sketch.at_wire"));
  const node = netUnder(editor, spot, spot);
  if (node) found.push(t("sketch.at_node", { node }));
  const what = found.length ? found.join(", ") : t("sketch.at_nothing");
  return t("sketch.at", { x: spot[0], y: spot[1], what });
}
