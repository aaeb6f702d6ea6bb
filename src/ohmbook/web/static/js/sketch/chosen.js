/** What is chosen, by keys "part:ID", "wire:x,y,...", "name:x,y", "mark:KIND:x,y"; and deeds on it. */
import { ends, far, key, piecesOf, plus, route, turned } from "./geometry.js";
import { freeName, fresh } from "./model.js";
import { fixedSpots, followed, tidied, toPieces, toWires } from "./wires.js";

/** @param {any} one */
export const wireKey = (one) => `wire:${one.join(",")}`;
export const nameKey = (one) => `name:${key(one.at)}`;
export const markKey = (one) => `mark:${one.kind}:${key(one.at)}`;

/** What lies at a point of the picture (steps, broken too); the finest thing first. */
export function thingAt(state, point, reach = 0.5) {
  const near = (spot, more = 0) => Math.hypot(spot[0] - point[0], spot[1] - point[1]) <= reach + more;
  for (const one of state.marks) if (near(one.at, 0.1)) return markKey(one);
  for (const one of state.names) if (near(plus(one.at, [0.5, -0.6]), 0.2)) return nameKey(one);
  let best = null;
  let least = reach + 0.45;
  for (const [id, one] of Object.entries(state.parts)) {
    if (!one.place) continue;
    const [a, b] = ends(one.place);
    const inner = [
      [a[0] + (b[0] - a[0]) / 4, a[1] + (b[1] - a[1]) / 4],
      [b[0] + (a[0] - b[0]) / 4, b[1] + (a[1] - b[1]) / 4],
    ];
    const distance = far(point, ...inner);
    if (distance < least) [best, least] = [`part:${id}`, distance];
  }
  if (best) return best;
  for (const one of state.wires) {
    if (piecesOf(one).some(([a, b]) => far(point, a, b) <= reach)) return wireKey(one);
  }
  for (const [id, one] of Object.entries(state.parts)) {
    if (one.place && ends(one.place).some((spot) => near(spot))) return `part:${id}`;
  }
  return null;
}

/** Everything that lies wholly in a rectangle. */
export function within(state, [x0, y0], [x1, y1]) {
  const inside = ([x, y]) =>
    x >= Math.min(x0, x1) && x <= Math.max(x0, x1) && y >= Math.min(y0, y1) && y <= Math.max(y0, y1);
  return everything(state).filter((one) => spotsFor(state, one).every(inside));
}

/** Every key. */
export function everything(state) {
  return [
    ...Object.entries(state.parts).filter(([, one]) => one.place).map(([id]) => `part:${id}`),
    ...state.wires.map(wireKey),
    ...state.names.map(nameKey),
    ...state.marks.map(markKey),
  ];
}

/** The points of a thing. */
export function spotsFor(state, thing) {
  const [kind, rest] = [thing.slice(0, thing.indexOf(":")), thing.slice(thing.indexOf(":") + 1)];
  if (kind === "part") return state.parts[rest]?.place ? ends(state.parts[rest].place) : [];
  if (kind === "wire") return piecesOf(rest.split(",").map(Number)).flat();
  return [rest.slice(rest.indexOf(":") + 1).split(",").map(Number)];
}

/** Without what is chosen. A part of which something is known stays in the notebook, not drawn. */
export function without(state, chosen, isBare) {
  const parts = {};
  for (const [id, one] of Object.entries(state.parts)) {
    if (!chosen.has(`part:${id}`)) parts[id] = one;
    else if (!isBare(id)) parts[id] = { ...one, place: null };
  }
  return tidied({
    ...state,
    parts,
    wires: state.wires.filter((one) => !chosen.has(wireKey(one))),
    names: state.names.filter((one) => !chosen.has(nameKey(one))),
    marks: state.marks.filter((one) => !chosen.has(markKey(one))),
  });
}

/** What is chosen moved; wires follow. The keys of the same things afterwards come along. */
export function moved(state, chosen, by) {
  const moves = new Map();
  for (const thing of chosen) {
    for (const spot of spotsFor(state, thing)) moves.set(key(spot), plus(spot, by));
  }
  const at = (one) => (chosen.has(one.name === undefined ? markKey(one) : nameKey(one)) ? plus(one.at, by) : one.at);
  const parts = {};
  for (const [id, one] of Object.entries(state.parts)) {
    const go = chosen.has(`part:${id}`) && one.place;
    parts[id] = go ? { ...one, place: [...plus(one.place, by), one.place[2]] } : one;
  }
  const onParts = (spot) => (moves.has(key(spot)) ? moves.get(key(spot)) : spot);
  return carried(state, moves, {
    ...state,
    parts,
    names: state.names.map((one) => ({ ...one, at: chosen.has(nameKey(one)) ? at(one) : onParts(one.at) })),
    marks: state.marks.map((one) => ({
      ...one,
      at: onParts(one.at),
      ...(one.against ? { against: onParts(one.against) } : {}),
    })),
    junctions: state.junctions.map(onParts),
  });
}

/** The chosen parts each a quarter turn on; wires follow. */
export function turnedParts(state, chosen) {
  const moves = new Map();
  const parted = [];
  const parts = { ...state.parts };
  for (const [id, one] of Object.entries(state.parts)) {
    if (!chosen.has(`part:${id}`) || !one.place) continue;
    const place = turned(one.place);
    ends(one.place).forEach((spot, k) => {
      const other = moves.get(key(spot));
      if (other) parted.push([other, ends(place)[k]]);
      else moves.set(key(spot), ends(place)[k]);
    });
    parts[id] = { ...one, place };
  }
  return carried(state, moves, { ...state, parts }, parted);
}

/** The state after, with the wires of the one before led to where their points have gone; `parted`
 * are pairs of points that were one. */
function carried(before, moves, after, parted = []) {
  const stay = new Set(
    fixedSpots(before)
      .filter((one) => !moves.has(key(one)))
      .map(key),
  );
  const pieces = followed(toPieces(before), moves, stay);
  for (const [id, one] of Object.entries(before.parts)) {
    // A part that stays where another one left keeps its joint with it, by a wire.
    if (!one.place || one.place !== after.parts[id].place) continue;
    for (const spot of ends(one.place)) {
      const way = moves.has(key(spot)) ? route(spot, moves.get(key(spot)), true) : [];
      way.slice(1).forEach((next, k) => pieces.push([way[k], next]));
    }
  }
  for (const [a, b] of parted) {
    const way = route(a, b, true);
    way.slice(1).forEach((next, k) => pieces.push([way[k], next]));
  }
  return tidied({ ...after, wires: toWires(pieces, pieces.flat()) });
}

/** Copies of what is chosen, a little below; the ids of the new parts. */
export function duplicated(state, chosen, by = [2, 2]) {
  const parts = { ...state.parts };
  const keys = [];
  for (const [id, one] of Object.entries(state.parts)) {
    if (!chosen.has(`part:${id}`) || !one.place) continue;
    const copy = fresh();
    const raw = one.raw.rated ? { kind: one.raw.kind, rated: one.raw.rated } : { kind: one.raw.kind };
    parts[copy] = { name: freeName({ parts }, one.name), raw, place: [...plus(one.place, by), one.place[2]] };
    keys.push(`part:${copy}`);
  }
  const wires = state.wires
    .filter((one) => chosen.has(wireKey(one)))
    .map((one) => one.map((each, k) => each + by[k % 2]));
  const marks = state.marks
    .filter((one) => one.kind === "ground" && chosen.has(markKey(one)))
    .map((one) => ({ ...one, at: plus(one.at, by) }));
  keys.push(...wires.map(wireKey), ...marks.map(markKey));
  return {
    state: tidied({ ...state, parts, wires: [...state.wires, ...wires], marks: [...state.marks, ...marks] }),
    keys,
  };
}
