/** What is being drawn: the state, what is chosen, the tool in hand, where one looks; and undo. */
import { everything } from "./chosen.js";

const MOST = 200;

/** Holds everything that the canvas shows, and tells whoever listens when it changes. */
export class Editor {
  constructor(state) {
    this.state = state;
    this.chosen = new Set();
    this.tool = "select";
    this.turn = 0;
    this.cursor = [0, 0];
    this.byKeys = false;
    this.view = { x: -8, y: -8, zoom: 1 };
    this.look = { nets: [], remarks: [], left_out: [], probed: {} };
    this.values = { values: {}, findings: [] };
    this.pending = null; // a wire begun, a box, something carried: see tools.js
    this.hover = null; // a node's name
    this.far = false; // seen from so far that texts are larger and fewer
    this.wanted = []; // nodes that are to be read next
    this.done = [];
    this.undone = [];
    this.listeners = new Set();
  }

  /** @param {(what: string) => void} listener called with "state", "look", "tool", "view", "shown" */
  on(listener) {
    this.listeners.add(listener);
  }

  tell(what) {
    for (const one of this.listeners) one(what);
  }

  /** A deed: it can be undone, and is written down. */
  change(state, chosen) {
    if (state === this.state) return;
    this.done.push(this.state);
    if (this.done.length > MOST) this.done.shift();
    this.undone = [];
    this.put(state, chosen);
  }

  /** What somebody else drew: undo brings the own one back, and takes none of their parts away. */
  replace(state, keepOwn) {
    if (keepOwn) this.done.push(this.state);
    this.adopt(Object.fromEntries(Object.entries(state.parts).filter(([id]) => !this.state.parts[id])));
    this.state = state;
    this.keepChosen();
    this.tell("replaced");
  }

  /** Parts that the notebook has and this page did not know, not drawn, in whatever undo leads to. */
  adopt(parts) {
    if (!Object.keys(parts).length) return;
    const undrawn = Object.fromEntries(Object.entries(parts).map(([id, one]) => [id, { ...one, place: null }]));
    const along = (one) => ({ ...one, parts: { ...undrawn, ...one.parts } });
    this.done = this.done.map(along);
    this.undone = this.undone.map(along);
    this.state = along(this.state);
  }

  put(state, chosen) {
    this.state = state;
    if (chosen) this.chosen = new Set(chosen);
    this.keepChosen();
    this.tell("state");
  }

  keepChosen() {
    const there = new Set(everything(this.state));
    this.chosen = new Set([...this.chosen].filter((one) => there.has(one)));
  }

  choose(things, more = false) {
    const next = more ? new Set(this.chosen) : new Set();
    for (const one of things) {
      if (more && next.has(one)) next.delete(one);
      else next.add(one);
    }
    this.chosen = next;
    this.tell("chosen");
  }

  undo() {
    if (!this.done.length) return false;
    this.undone.push(this.state);
    this.put(this.done.pop());
    return true;
  }

  redo() {
    if (!this.undone.length) return false;
    this.done.push(this.state);
    this.put(this.undone.pop());
    return true;
  }

  take(tool) {
    this.tool = tool;
    this.pending = null;
    this.tell("tool");
  }

  /** The node at a spot, as the server last told it. */
  netAt(spot) {
    return this.look.nets.find((net) => net.spots.some((one) => one[0] === spot[0] && one[1] === spot[1])) ?? null;
  }
}
