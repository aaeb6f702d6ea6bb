/** Wires as pieces between the points that join, and as lines again. */
import { ends, key, onPiece, piecesOf, same } from "./geometry.js";

/** Every point that joins what lies there, apart from the wires' own. */
export function fixedSpots(state) {
  const found = [];
  for (const one of Object.values(state.parts)) if (one.place) found.push(...ends(one.place));
  found.push(...state.junctions);
  for (const one of state.names) found.push(one.at);
  for (const one of state.marks) found.push(one.at, ...(one.against ? [one.against] : []));
  return found;
}

/** The wires cut wherever something joins them; no piece twice. */
export function toPieces(state) {
  const whole = state.wires.flatMap(piecesOf);
  const points = [...fixedSpots(state), ...whole.flat()];
  const found = new Map();
  for (const [a, b] of whole) {
    const on = points.filter((one) => onPiece(one, a, b));
    on.sort((p, q) => p[0] - q[0] || p[1] - q[1]);
    for (let k = 1; k < on.length; k += 1) {
      if (!same(on[k - 1], on[k])) found.set(`${key(on[k - 1])} ${key(on[k])}`, [on[k - 1], on[k]]);
    }
  }
  return [...found.values()];
}

/** At each point, the pieces that end there. */
export function around(pieces) {
  const found = new Map();
  for (const piece of pieces) {
    for (const spot of piece) {
      if (!found.has(key(spot))) found.set(key(spot), []);
      found.get(key(spot)).push(piece);
    }
  }
  return found;
}

const straight = ([a, b], c) => (a[0] === b[0] && b[0] === c[0]) || (a[1] === b[1] && b[1] === c[1]);

/** Pieces as lines: each from one point where something else is to the next such point.
 * @param {number[][][]} pieces @param {number[][]} stops points at which every line ends */
export function toWires(pieces, stops) {
  const there = around(pieces);
  const held = new Set(stops.map(key));
  for (const [spot, on] of there) if (on.length !== 2) held.add(spot);
  const left = new Set(pieces);
  const wires = [];
  const follow = (piece, from) => {
    const line = [from];
    let here = from;
    while (piece && left.has(piece)) {
      left.delete(piece);
      const next = same(piece[0], here) ? piece[1] : piece[0];
      if (line.length > 1 && straight(line.slice(-2), next)) line.pop();
      line.push(next);
      here = next;
      piece = held.has(key(here)) ? null : there.get(key(here)).find((one) => left.has(one));
    }
    wires.push(line.flat());
  };
  for (const piece of pieces) {
    const from = piece.find((one) => held.has(key(one)));
    if (from && left.has(piece)) follow(piece, from);
  }
  for (const piece of pieces) if (left.has(piece)) follow(piece, piece[0]);
  return wires;
}

/** The state with its wires in order. */
export function tidied(state) {
  const stops = Object.values(state.parts).flatMap((one) => (one.place ? ends(one.place) : []));
  const pieces = toPieces(state);
  const joined = new Set([...pieces.flat(), ...stops].map(key));
  return {
    ...state,
    wires: toWires(pieces, stops),
    junctions: state.junctions.filter((one) => joined.has(key(one))),
  };
}

/**
 * The wires after points have moved: pieces that were on them follow.
 * @param {number[][][]} pieces of the state before
 * @param {Map<string, number[]>} moves from a point's key to where it is now
 * @param {Set<string>} held points that stay where they are, whatever moves
 */
export function followed(pieces, moves, held) {
  const there = around(pieces);
  const all = new Map(moves);
  for (const [a, b] of pieces) {
    slide(a, b, all, moves, held, there);
    slide(b, a, all, moves, held, there);
  }
  const at = (spot) => all.get(key(spot)) ?? spot;
  return pieces.flatMap(([a, b]) => joined(a, b, at(a), at(b), moves.has(key(a))));
}

/** A bare corner goes along with the piece that moves sideways, rather than making another corner. */
function slide(a, b, all, moves, held, there) {
  const to = moves.get(key(a));
  if (!to || moves.has(key(b)) || held.has(key(b))) return;
  const on = there.get(key(b));
  if (on.length !== 2) return;
  const [other] = on.filter((one) => !one.some((spot) => same(spot, a)));
  if (!other) return;
  const across = a[1] === b[1];
  const otherAcross = other[0][1] === other[1][1];
  if (across === otherAcross) return;
  all.set(key(b), across ? [b[0], to[1]] : [to[0], b[1]]);
}

function joined(a, b, a1, b1, aMoved) {
  if (same(a1, b1)) return [];
  if (a1[0] === b1[0] || a1[1] === b1[1]) return [[a1, b1]];
  const across = a[1] === b[1];
  const [moved, still] = aMoved ? [a1, b1] : [b1, a1];
  const corner = across ? [moved[0], still[1]] : [still[0], moved[1]];
  return [
    [moved, corner],
    [corner, still],
  ];
}
