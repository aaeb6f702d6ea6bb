/** Asking the server, and telling its two kinds of failure apart: it said no, or it is away. */

/** The server answered that something is at fault; `message` is for the person. */
export class Told extends Error {
  constructor(message, status) {
    super(message);
    this.status = status;
  }
}

/** The server did not answer. */
export class Away extends Error {}

/** This device is not let in, or no longer: the page that asks for its pass; what is kept stays. */
function asked() {
  location.reload();
  throw new Away("the pass is asked for");
}

async function call(url, options) {
  let answer;
  try {
    answer = await fetch(url, { credentials: "same-origin", ...options });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Away(String(error));
  }
  if (answer.ok) return answer;
  if (answer.status === 401) return asked();
  if (answer.status > 500) throw new Away(`status ${answer.status}`);
  let told = "";
  try {
    told = (await answer.json()).told;
  } catch {
    /* not JSON: the status alone is told */
  }
  throw new Told(told || `status ${answer.status}`, answer.status);
}

/** GET: the JSON of an address. @param {string} url @param {AbortSignal} [signal] */
export async function ask(url, signal) {
  return (await call(url, { signal })).json();
}

/** POST JSON that writes nothing (a preview): the JSON of the answer.
 * @param {string} url @param {object} body @param {AbortSignal} [signal] */
export async function send(url, body, signal) {
  const answer = await call(url, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
    signal,
  });
  return answer.json();
}

/** The same, where the answer is bytes. @returns {Promise<ArrayBuffer>} */
export async function sendForBytes(url, body, signal) {
  const answer = await call(url, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
    signal,
  });
  return answer.arrayBuffer();
}

/** Attach a file's bytes. @param {string} url @param {Blob} file */
export async function upload(url, file) {
  const answer = await call(url, {
    method: "POST",
    headers: { "content-type": "application/octet-stream" },
    body: file,
  });
  return answer.json();
}

/**
 * Ask again and again for the newest state, one request at a time: what comes in while one is under
 * way waits, and only the newest of it is sent. A failure frees the way for the next.
 * @param {(state: any) => Promise<any>} doing
 * @param {(result: any, state: any) => void} shown
 * @param {(error: Error, state: any) => void} failed
 */
export function latest(doing, shown, failed) {
  let waiting = null;
  let busy = false;
  async function run() {
    if (busy) return;
    busy = true;
    try {
      while (waiting) {
        const { state } = waiting;
        waiting = null;
        try {
          const result = await doing(state);
          shown(result, state);
        } catch (error) {
          failed(error, state);
        }
      }
    } finally {
      busy = false;
    }
  }
  return (state) => {
    waiting = { state };
    return run();
  };
}
