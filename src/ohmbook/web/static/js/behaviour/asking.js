/** What the server is asked: the settled curves, and what they become with values moved. */
import { latest, sendForBytes } from "../api.js";
import { unpack } from "./wire.js";

/** As the server is asked: [{part, quantity, to, exact}, ...]. */
function moves(to, exact) {
  return [...to].map(([key, value]) => {
    const cut = key.lastIndexOf("/");
    return { part: key.slice(0, cut), quantity: key.slice(cut + 1), to: value, exact };
  });
}

export class Asking {
  /** @param {string} board
   *  @param {(found: any, state: any) => void} came
   *  @param {(error: Error, state: any) => void} failed */
  constructor(board, came, failed) {
    this.url = `/api/b/${encodeURIComponent(board)}/behaviour`;
    this.next = null;
    // Answers are shown a moment later, so that the next request is under way while one is drawn.
    this.bell = new MessageChannel();
    this.bell.port1.onmessage = () => {
      const next = this.next;
      this.next = null;
      if (next) came(...next);
    };
    const soon = (found, state) => {
      this.next = [found, state];
      this.bell.port2.postMessage(null);
    };
    /** Ask for moved curves: {token, to, exact, draws, curves, pins}; the newest state wins. */
    this.moved = latest((state) => this.fetch(state), soon, failed);
  }

  /** The settled curves, or {told} where there are none; null where a later call has been made. */
  async settled() {
    const turn = (this.turn = (this.turn ?? 0) + 1);
    const answer = await fetch(this.url, { credentials: "same-origin" });
    const found = answer.ok ? unpack(await answer.arrayBuffer()) : await answer.json();
    return turn === this.turn ? found : null;
  }

  /** Curves once, out of turn. */
  async fetch({ token, to, exact, draws, curves, pins }) {
    const body = {
      token, draws, curves, to: moves(to, exact), pins: pins.map((one) => moves(one.to, exact)),
    };
    return unpack(await sendForBytes(`${this.url}/moved`, body));
  }
}
