/** Curves as they come over the wire: a header in JSON, then rows of 32-bit floats. */

/** A row's name. @param {string} what @param {string} whose */
export const row = (what, whose) => `${what}|${whose}`;

/** uPlot knows gaps as null, not as NaN. @param {Float32Array} numbers */
function withGaps(numbers) {
  return numbers.some(Number.isNaN)
    ? Array.from(numbers, (one) => (Number.isNaN(one) ? null : one))
    : numbers;
}

/**
 * @param {ArrayBuffer} buffer
 * @returns {{header: any, rows: Map<string, ArrayLike<number|null>>, bytes: number}}
 */
export function unpack(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  const numbers = new Float32Array(buffer, 4 + length);
  const rows = new Map();
  header.rows.forEach(([what, whose], k) => {
    const part = numbers.subarray(k * header.points, (k + 1) * header.points);
    rows.set(row(what, whose), withGaps(part));
  });
  return { header, rows, bytes: buffer.byteLength };
}
