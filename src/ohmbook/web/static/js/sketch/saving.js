/** The drawing written down shortly after each change: one write at a time, the newest state wins. */
import { ask } from "../api.js";
import { drop, keep, kept } from "../keep.js";
import { concerns } from "../live.js";
import { post, unsent } from "../outbox.js";
import { edits, freeName, fromLook, toDrawing } from "./model.js";

const SOON_MS = 350;

/**
 * @param {string} board
 * @param {import("./editor.js").Editor} editor
 * @param {{url: string, looked: (look: any) => void, failed: (message: string) => void,
 *   waiting: (yes: boolean) => void}} told
 */
export function setUpSaving(board, editor, { url, looked, failed, waiting }) {
  const name = `sketch:${board}`;
  let saved = { parts: {}, bases: {}, base: 0 };
  let timer = 0;
  let busy = false;
  let dirty = false;
  let own = 0;

  function took(look, sentState) {
    const { state, bases } = fromLook(look, sentState ?? editor.state);
    const known = sentState?.parts ?? state.parts;
    const others = Object.fromEntries(Object.entries(state.parts).filter(([id]) => !known[id]));
    saved = { parts: { ...others, ...known }, bases, base: look.base };
    editor.adopt(others);
    own = Math.max(own, look.act ?? 0);
    looked(look);
    return state;
  }

  function remember() {
    keep(name, { state: editor.state, base: saved.base, sending: busy });
  }

  function soon() {
    dirty = true;
    waiting(true);
    remember();
    clearTimeout(timer);
    timer = setTimeout(run, SOON_MS);
  }

  async function run() {
    if (busy) return;
    busy = true;
    try {
      while (dirty) {
        dirty = false;
        await write();
      }
    } finally {
      busy = false;
      waiting(false);
    }
  }

  async function write() {
    const state = editor.state;
    const parts = edits(saved, state);
    remember();
    const body = { drawing: toDrawing(state), base: saved.base, parts };
    if (!parts.length && JSON.stringify(body.drawing) === saved.sent) return drop(name);
    try {
      const look = await post(url, body);
      failed("");
      if (look.beside) return theirs(look);
      took(look, state);
      saved.sent = JSON.stringify(body.drawing);
      if (!dirty) drop(name);
      document.dispatchEvent(new CustomEvent("ohmbook:saved"));
    } catch (error) {
      await refused(error.message);
    }
    return undefined;
  }

  /** Somebody else's drawing holds; undo brings back the own one, its new parts named apart. */
  function theirs(look) {
    dirty = false;
    drop(name);
    editor.state = apart(editor.state, saved.parts, look.parts);
    editor.replace(took(look), true);
  }

  /** The server said no: told, and if that is because somebody else wrote, theirs is shown. */
  async function refused(message) {
    failed(message);
    try {
      const look = await ask(url);
      if (look.base !== saved.base) theirs(look);
    } catch {
      /* it is away: the next change tries again */
    }
  }

  /** Look again, after somebody wrote; what is drawn here and not written yet is left alone. */
  async function refresh() {
    if (busy || dirty || editor.pending?.kind === "carry") return;
    let look;
    try {
      look = await ask(url);
    } catch {
      return; // it is asked for again with the next news
    }
    if (busy || dirty) return;
    const other = look.base !== saved.base;
    const state = took(look);
    if (other || parted(state, editor.state)) editor.replace(state, false);
  }

  document.addEventListener("ohmbook:changed", (event) => {
    if (event.detail.last > own && concerns(event.detail, board)) refresh();
  });
  window.addEventListener("pagehide", () => dirty && remember());

  return {
    soon,
    /** The first look; what an earlier visit left unwritten is drawn on. */
    async begin() {
      const left = kept(name);
      if (left) await sent();
      const look = await ask(url);
      const state = took(look);
      editor.replace(state, false);
      if (!left) return;
      const mine = adopted(left.state, state);
      if (left.base !== look.base && JSON.stringify(look.drawing) !== JSON.stringify(toDrawing(mine))) {
        // The notebook went on meanwhile: by this page's own last write, or by someone else.
        saved.base = left.sending ? look.base : left.base;
      }
      editor.change(mine);
    },
  };
}

/** Until nothing waits to be sent any more. */
async function sent() {
  for (let k = 0; unsent() && k < 50; k += 1) await new Promise((go) => setTimeout(go, 100));
}

/** A state with its own new parts under names that nobody else has taken. */
function apart(state, known, theirs) {
  const taken = theirs.map((one) => one.name);
  const parts = { ...state.parts };
  for (const [id, one] of Object.entries(parts)) {
    if (known[id] || !taken.includes(one.name)) continue;
    const all = { ...parts, ...Object.fromEntries(taken.map((name) => [`their ${name}`, { name }])) };
    parts[id] = { ...one, name: freeName({ parts: all }, one.name) };
  }
  return { ...state, parts };
}

/** Whether parts differ between two states. */
function parted(a, b) {
  const said = (state) => JSON.stringify(Object.values(state.parts).map((one) => [one.name, one.raw]).sort());
  return said(a) !== said(b);
}

/** A state kept by an earlier visit, its parts known by the identities of this one. */
function adopted(left, now) {
  const ids = new Map(Object.entries(now.parts).map(([id, one]) => [one.name, id]));
  const parts = {};
  for (const [id, one] of Object.entries(left.parts)) parts[ids.get(one.name) ?? `kept-${id}`] = one;
  return { ...left, parts };
}
