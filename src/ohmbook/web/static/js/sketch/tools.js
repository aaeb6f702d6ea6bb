/** What each tool does at a spot of the grid, by pointer and by keys alike. */
import { ends, onPiece, piecesOf, route, same } from "./geometry.js";
import { duplicated, moved, thingAt, turnedParts, without } from "./chosen.js";
import { withJoint, withMark, withNew, withPlaced, withShape, withWire } from "./model.js";

export const KINDS = ["inductor", "capacitor", "resistor", "driver"];

const WAYS = { 0: [1, 0], 90: [0, 1], 180: [-1, 0], 270: [0, -1] };

/** Where a part goes: with its middle at the pointer, or with its first end at the grid cursor. */
export function placeAt(spot, turn, byKeys) {
  const [dx, dy] = WAYS[turn];
  return byKeys ? [...spot, turn] : [spot[0] - 2 * dx, spot[1] - 2 * dy, turn];
}

/** Whether something lies at a spot that a wire can end on. */
export function joinsAt(state, spot) {
  const at = (one) => same(one, spot);
  return (
    Object.values(state.parts).some((one) => one.place && ends(one.place).some(at)) ||
    state.wires.some((one) => piecesOf(one).some(([a, b]) => onPiece(spot, a, b))) ||
    state.marks.some((one) => at(one.at)) ||
    state.names.some((one) => at(one.at))
  );
}

/** A wire's way from where it has come to: out of a part along it, else the longer side first. */
function wayTo(editor, from, to, bent) {
  const part = Object.values(editor.state.parts).find((one) => one.place && ends(one.place).some((end) => same(end, from)));
  let across = Math.abs(to[0] - from[0]) >= Math.abs(to[1] - from[1]);
  if (part && editor.pending.spots.length === 1) across = part.place[2] % 180 === 0;
  return route(from, to, across !== bent);
}

function wire(editor, spot) {
  const { pending } = editor;
  if (pending?.kind !== "wire") {
    editor.pending = { kind: "wire", spots: [spot], way: [spot], bent: false };
    editor.tell("shown");
    return;
  }
  const last = pending.spots[pending.spots.length - 1];
  if (same(last, spot)) {
    finish(editor, pending.spots);
    return;
  }
  const spots = [...pending.spots, ...wayTo(editor, last, spot, pending.bent).slice(1)];
  if (joinsAt(editor.state, spot)) finish(editor, spots);
  else {
    editor.pending = { kind: "wire", spots, way: spots, bent: false };
    editor.tell("shown");
  }
}

function finish(editor, spots) {
  editor.pending = null;
  editor.change(withWire(editor.state, spots), []);
  editor.tell("shown");
}

/** The tool in hand, used at a spot. `asks` opens the forms for a name, an output, an amplitude. */
export function act(editor, spot, point, asks, { more = false, byKeys = false, reach = 0.5 } = {}) {
  const { state, tool } = editor;
  if (editor.pending?.kind === "carry") return putDown(editor);
  if (KINDS.includes(tool)) {
    const made = withNew(state, tool, placeAt(spot, editor.turn, byKeys));
    editor.change(made.state, [`part:${made.id}`]);
  } else if (tool.startsWith("place:")) {
    const id = tool.slice(6);
    editor.change(withPlaced(state, id, placeAt(spot, editor.turn, byKeys)), [`part:${id}`]);
    editor.take("select");
  } else if (tool.startsWith("shape:")) {
    const made = withShape(state, asks.shape(tool.slice(6)), spot);
    editor.change(made.state, made.ids.map((id) => `part:${id}`));
    editor.take("select");
  } else if (tool === "wire") wire(editor, spot);
  else if (tool === "joint") editor.change(withJoint(state, spot));
  else if (tool === "name") asks.name(spot);
  else if (tool === "ground" || tool === "input" || tool === "return") editor.change(withMark(state, { kind: tool, at: spot }));
  else if (tool === "output") asks.output(spot);
  else if (tool === "probe") asks.probe(spot, point);
  else {
    const thing = thingAt(state, point, reach);
    editor.choose(thing ? [thing] : [], more);
  }
  return undefined;
}

/** What is seen before the tool is used. */
export function foresee(editor, spot, byKeys) {
  const { tool, pending } = editor;
  if (pending?.kind === "wire") {
    const last = pending.spots[pending.spots.length - 1];
    editor.pending = { ...pending, way: [...pending.spots, ...wayTo(editor, last, spot, pending.bent).slice(1)] };
  } else if (KINDS.includes(tool)) {
    editor.pending = { kind: "ghost", ghost: { kind: tool, place: placeAt(spot, editor.turn, byKeys) } };
  } else if (tool.startsWith("place:")) {
    const { raw } = editor.state.parts[tool.slice(6)];
    editor.pending = { kind: "ghost", ghost: { kind: raw.kind, place: placeAt(spot, editor.turn, byKeys) } };
  } else if (["ground", "input", "return", "output"].includes(tool)) {
    editor.pending = { kind: "ghost", ghost: { kind: "mark", mark: { kind: tool, at: spot } } };
  }
}

/** Turn: what is about to be placed, the wire's corner, or what is chosen. */
export function turn(editor) {
  if (editor.pending?.kind === "wire") {
    editor.pending.bent = !editor.pending.bent;
    foresee(editor, editor.cursor, editor.byKeys);
    editor.tell("shown");
  } else if (KINDS.includes(editor.tool) || editor.tool.startsWith("place:")) {
    editor.turn = (editor.turn + 90) % 360;
    foresee(editor, editor.cursor, editor.byKeys);
    editor.tell("shown");
  } else if (editor.chosen.size) editor.change(turnedParts(editor.state, editor.chosen), editor.chosen);
}

/** Take away what is chosen. */
export function erase(editor, isBare) {
  if (editor.chosen.size) editor.change(without(editor.state, editor.chosen, isBare), []);
}

/** Once more what is chosen. */
export function duplicate(editor) {
  if (!editor.chosen.size) return;
  const made = duplicated(editor.state, editor.chosen);
  editor.change(made.state, made.keys);
}

/** Take what is chosen up, to be moved. */
export function pickUp(editor) {
  if (!editor.chosen.size) return;
  editor.pending = { kind: "carry", from: editor.state, chosen: new Set(editor.chosen), by: [0, 0] };
  editor.tell("shown");
}

/** Move what is carried. @param {number[]} by steps from where it was taken up */
export function carry(editor, by) {
  const { pending } = editor;
  if (same(pending.by, by)) return;
  pending.by = by;
  editor.state = same(by, [0, 0]) ? pending.from : moved(pending.from, pending.chosen, by);
  editor.chosen = new Set([...pending.chosen].map((one) => shiftedKey(one, by)));
  editor.tell("carried");
}

/** Put what is carried down. */
export function putDown(editor) {
  const { from, by } = editor.pending;
  const { state, chosen } = editor;
  editor.pending = null;
  editor.state = from;
  if (same(by, [0, 0])) editor.tell("state-shown");
  else editor.change(state, chosen);
}

/** Leave what is begun. */
export function letGo(editor) {
  if (editor.pending?.kind === "carry") {
    editor.state = editor.pending.from;
    editor.chosen = editor.pending.chosen;
    editor.pending = null;
    editor.tell("state-shown");
  } else if (editor.pending && editor.pending.kind !== "ghost") {
    editor.pending = null;
    editor.tell("shown");
  } else if (editor.tool !== "select") editor.take("select");
  else editor.choose([]);
}

function shiftedKey(thing, by) {
  if (thing.startsWith("part:")) return thing;
  const cut = thing.lastIndexOf(":") + 1;
  const flat = thing.slice(cut).split(",").map(Number);
  return thing.slice(0, cut) + flat.map((one, k) => one + by[k % 2]).join(",");
}
