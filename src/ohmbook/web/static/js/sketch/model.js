/** The drawing as this page holds it, and what is put into it: each deed makes another state. */
import { ends, key, piecesOf, plus } from "./geometry.js";
import { fixedSpots, tidied, toPieces, toWires } from "./wires.js";

/**
 * @typedef {{name: string, raw: any, place: number[] | null}} Part
 * @typedef {{parts: Record<string, Part>, wires: number[][], junctions: number[][],
 *   names: {name: string, at: number[]}[], marks: any[], photo: any}} State
 */

let count = 0;
/** An identity for a new part. */
export const fresh = () => `p${(count += 1)}`;
const LETTERS = { inductor: "L", capacitor: "C", resistor: "R", driver: "driver " };

const bare = (raw) => {
  const { between, ...rest } = raw;
  return rest;
};

/** What the server told as a state; parts keep the identity they had in an older one. */
export function fromLook(look, older) {
  const known = new Map(Object.entries(older?.parts ?? {}).map(([id, one]) => [one.name, id]));
  const parts = {};
  const bases = {};
  for (const one of look.parts) {
    const id = known.get(one.name) ?? fresh();
    parts[id] = { name: one.name, raw: bare(one.raw), place: look.drawing.parts?.[one.name] ?? null };
    bases[id] = one.base;
  }
  const { wires = [], junctions = [], names = [], marks = [], photo = null } = look.drawing;
  return { state: tidied({ parts, wires, junctions, names, marks, photo }), bases };
}

/** The drawing as it is sent. */
export function toDrawing(state) {
  const placed = Object.values(state.parts).filter((one) => one.place);
  const drawing = {
    parts: Object.fromEntries(placed.map((one) => [one.name, one.place])),
    wires: state.wires,
    junctions: state.junctions,
    names: state.names,
    marks: state.marks,
  };
  return state.photo ? { ...drawing, photo: state.photo } : drawing;
}

/** The same parts drawn in another way. */
export function withDrawing(state, drawing) {
  const parts = {};
  for (const [id, one] of Object.entries(state.parts)) parts[id] = { ...one, place: drawing.parts?.[one.name] ?? null };
  const { wires = [], junctions = [], names = [], marks = [] } = drawing;
  return tidied({ ...state, parts, wires, junctions, names, marks });
}

/** What became of parts since they were last written: as `PartEdit`s. */
export function edits(saved, state) {
  const found = [];
  for (const [id, one] of Object.entries(saved.parts)) {
    const now = state.parts[id];
    if (!now) found.push({ was: one.name, name: null, base: saved.bases[id] });
    else if (now.name !== one.name || JSON.stringify(now.raw) !== JSON.stringify(one.raw)) {
      found.push({ was: one.name, name: now.name, raw: now.raw, base: saved.bases[id] });
    }
  }
  for (const [id, one] of Object.entries(state.parts)) {
    if (!saved.parts[id]) found.push({ was: null, name: one.name, raw: one.raw });
  }
  return found;
}

/** A name that no part has: "L3", "driver 2"; a word as it is where it is free. @param {string} like */
export function freeName(state, like) {
  const taken = new Set(Object.values(state.parts).map((one) => one.name));
  const stem = like.replace(/\d+$/, "");
  if (!/^[LCR]$|^driver $/.test(stem) && !taken.has(like)) return like;
  const join = /[ LCR]$/.test(stem) ? "" : " ";
  let k = join ? 2 : 1;
  while (taken.has(`${stem}${join}${k}`)) k += 1;
  return `${stem}${join}${k}`;
}

/** A new part of unknown value at a place; its id. */
export function withNew(state, kind, place) {
  const id = fresh();
  const raw = kind === "driver" ? { kind, rated: "8 ohm" } : { kind };
  const one = { name: freeName(state, LETTERS[kind]), raw, place };
  return { state: tidied({ ...state, parts: { ...state.parts, [id]: one } }), id };
}

/** A part that is there already, drawn at a place. */
export function withPlaced(state, id, place) {
  return tidied({ ...state, parts: { ...state.parts, [id]: { ...state.parts[id], place } } });
}

/** With other things said of a part. */
export function withSaid(state, id, name, raw) {
  return { ...state, parts: { ...state.parts, [id]: { ...state.parts[id], name, raw } } };
}

/** With a wire along some spots. */
export function withWire(state, spots) {
  const flat = spots.filter((one, k) => !k || key(one) !== key(spots[k - 1])).flat();
  return flat.length < 4 ? state : tidied({ ...state, wires: [...state.wires, flat] });
}

/** Wires that cross at a spot joined; those that are joined there parted, so that they only cross. */
export function withJoint(state, spot) {
  const bare = { ...state, junctions: state.junctions.filter((one) => key(one) !== key(spot)) };
  const pieces = toPieces(bare);
  const on = pieces.filter((one) => one.some((end) => key(end) === key(spot)));
  if (on.length < 4) return tidied({ ...bare, junctions: [...bare.junctions, spot] });
  if (fixedSpots(bare).some((one) => key(one) === key(spot))) return state;
  const through = [0, 1].map((axis) => {
    const line = on.filter(([p, q]) => p[axis] === q[axis]).flat();
    return line.filter((end) => key(end) !== key(spot));
  });
  const left = pieces.filter((one) => !on.includes(one));
  return tidied({ ...bare, wires: toWires([...left, ...through], []) });
}

/** With a node's name written at a spot; without it where the name is empty. */
export function withName(state, at, name) {
  const left = state.names.filter((one) => key(one.at) !== key(at));
  return tidied({ ...state, names: name ? [...left, { name, at }] : left });
}

/** With a mark; there is one input, and one return. */
export function withMark(state, mark) {
  const once = mark.kind === "input" || mark.kind === "return";
  const left = state.marks.filter(
    (one) => !(once && one.kind === mark.kind) && !(one.kind === mark.kind && key(one.at) === key(mark.at)),
  );
  return tidied({ ...state, marks: [...left, mark] });
}

/** With a network to begin with, its upper left at a spot; the ids of its parts. */
export function withShape(state, shape, spot) {
  const spots = shape.drawing.wires?.flatMap((one) => piecesOf(one).flat()) ?? [];
  const every = [...spots, ...Object.values(shape.drawing.parts)];
  const by = [spot[0] - Math.min(...every.map((one) => one[0])), spot[1] - Math.min(...every.map((one) => one[1]))];
  const shifted = (flat) => flat.map((one, k) => one + by[k % 2]);
  const parts = { ...state.parts };
  const ids = [];
  for (const [name, raw] of Object.entries(shape.parts)) {
    const id = fresh();
    const [x, y, turn] = shape.drawing.parts[name];
    parts[id] = { name: freeName({ parts }, name), raw, place: [x + by[0], y + by[1], turn] };
    ids.push(id);
  }
  const had = new Set(state.marks.map((one) => one.kind));
  const marks = (shape.drawing.marks ?? [])
    .filter((one) => one.kind !== "input" || !had.has("input"))
    .map((one) => ({ ...one, at: plus(one.at, by) }));
  const made = {
    ...state,
    parts,
    wires: [...state.wires, ...(shape.drawing.wires ?? []).map(shifted)],
    junctions: [...state.junctions, ...(shape.drawing.junctions ?? []).map((one) => plus(one, by))],
    marks: [...state.marks, ...marks],
  };
  return { state: tidied(made), ids };
}

/** Where joints are drawn: three or more arms meet, or a joint was put. */
export function dots(state) {
  const arms = new Map();
  for (const piece of toPieces(state)) {
    for (const spot of piece) arms.set(key(spot), (arms.get(key(spot)) ?? 0) + 1);
  }
  for (const one of Object.values(state.parts)) {
    if (one.place) for (const spot of ends(one.place)) arms.set(key(spot), (arms.get(key(spot)) ?? 0) + 1);
  }
  const found = [...arms].filter(([, number]) => number > 2).map(([spot]) => spot.split(",").map(Number));
  return [...found, ...state.junctions];
}
