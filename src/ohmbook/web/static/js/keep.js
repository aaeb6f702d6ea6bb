/** What this browser keeps of a notebook until it is written down: drafts, and unsent writes. */

const PREFIX = `ohmbook:${document.body.dataset.notebook}:`;

/** Keep a value under a name. @param {string} name @param {any} value */
export function keep(name, value) {
  try {
    localStorage.setItem(PREFIX + name, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}

/** What is kept under a name, or null. @param {string} name */
export function kept(name) {
  try {
    return JSON.parse(localStorage.getItem(PREFIX + name) ?? "null");
  } catch {
    return null;
  }
}

/** Keep it no longer. @param {string} name */
export function drop(name) {
  try {
    localStorage.removeItem(PREFIX + name);
  } catch {
    /* nothing was kept */
  }
}
