/** The grid: spots, places of parts, what lies where. */

/** Steps from a part's first end to its second. */
export const REACH = 4;

/** Units of the picture to a step of the grid. */
export const G = 14;

const WAYS = { 0: [1, 0], 90: [0, 1], 180: [-1, 0], 270: [0, -1] };

/** A spot as a key. @param {number[]} spot */
export const key = (spot) => `${spot[0]},${spot[1]}`;

/** @param {number[]} a @param {number[]} b */
export const same = (a, b) => a[0] === b[0] && a[1] === b[1];

/** @param {number[]} a @param {number[]} b */
export const plus = (a, b) => [a[0] + b[0], a[1] + b[1]];

/** Both ends of a placed part. @param {number[]} place */
export function ends([x, y, turn]) {
  const [dx, dy] = WAYS[turn];
  return [
    [x, y],
    [x + REACH * dx, y + REACH * dy],
  ];
}

/** The middle of a placed part. @param {number[]} place */
export function middle(place) {
  const [a, b] = ends(place);
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

/** The same part a quarter turn on, about its middle. @param {number[]} place */
export function turned(place) {
  const [cx, cy] = middle(place);
  const turn = (place[2] + 90) % 360;
  const [dx, dy] = WAYS[turn];
  return [cx - (dx * REACH) / 2, cy - (dy * REACH) / 2, turn];
}

/** Whether a spot lies on a piece along the grid, its ends included. */
export function onPiece([x, y], [x0, y0], [x1, y1]) {
  return (
    x >= Math.min(x0, x1) && x <= Math.max(x0, x1) && y >= Math.min(y0, y1) && y <= Math.max(y0, y1)
  );
}

/** How far a point is from a piece. */
export function far([x, y], [x0, y0], [x1, y1]) {
  const cx = Math.min(Math.max(x, Math.min(x0, x1)), Math.max(x0, x1));
  const cy = Math.min(Math.max(y, Math.min(y0, y1)), Math.max(y0, y1));
  return Math.hypot(x - cx, y - cy);
}

/** A way along the grid with one corner at most.
 * @param {number[]} a @param {number[]} b @param {boolean} across first sideways, or first up or down */
export function route(a, b, across) {
  if (same(a, b)) return [a];
  if (a[0] === b[0] || a[1] === b[1]) return [a, b];
  return [a, across ? [b[0], a[1]] : [a[0], b[1]], b];
}

/** The spots of a wire. @param {number[]} flat */
export function spotsOf(flat) {
  const found = [];
  for (let k = 0; k < flat.length; k += 2) found.push([flat[k], flat[k + 1]]);
  return found;
}

/** The pieces of a wire. @param {number[]} flat */
export function piecesOf(flat) {
  const spots = spotsOf(flat);
  return spots.slice(1).map((one, k) => [spots[k], one]);
}
