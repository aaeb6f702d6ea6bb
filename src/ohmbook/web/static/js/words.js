/** The page's English, all of it from the server's one folder of words. */
import words from "/words.js";

/** A text by its name, with values put in where it has {these}.
 * @param {string} name @param {Record<string, any>} [values] */
export function t(name, values = {}) {
  const text = words[name];
  if (text === undefined) throw new Error(`no text "${name}"`);
  return text.replace(/\{(\w+)\}/g, (_, key) => String(values[key]));
}
