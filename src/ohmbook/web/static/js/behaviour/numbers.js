/** Numbers at the reading line; what is told in words comes from the server. */

const MINUS = "\u2212";

/** Three digits. @param {number} value */
function three(value) {
  const places = Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value) || 1)));
  return value.toFixed(Math.min(places, 3));
}

const signed = (text) => text.replace("-", MINUS);

/** @param {number} f */
export const hz = (f) => (f < 999.5 ? `${three(f)} Hz` : `${three(f / 1000)} kHz`);

/** @param {number} value */
export const ohm = (value) => (value < 999.5 ? three(value) : `${three(value / 1000)}k`);

/** @param {number} value */
export const db = (value) => signed((Math.round(value * 100) / 100 + 0).toFixed(2));

/** @param {number} value */
export const deg = (value) => signed((Math.round(value) + 0).toFixed(0)) + "°";

/** A line from the server, with a minus that is one. @param {string} line */
export const set = (line) => line.replace(/(^|[\s(])-(?=\d)/g, `$1${MINUS}`);
