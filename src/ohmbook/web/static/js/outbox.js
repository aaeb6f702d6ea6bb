/**
 * Writes on their way to the notebook. Each is kept in this browser before it is sent, and until
 * the server has answered; while it is away they wait, in order, over reloads too.
 */
import { Away, Told, send } from "./api.js";
import { drop, keep, kept } from "./keep.js";
import { t } from "./words.js";

const NAME = "outbox";
const AGAIN_MS = 1000;
const waiters = new Map();
let queue = kept(NAME) ?? [];
let running = false;

/** The last act this page knows of. */
export function lastAct() {
  return Number(document.body.dataset.last);
}

/** Learn of a newer act. @param {number} act */
export function learn(act) {
  if (act > lastAct()) document.body.dataset.last = String(act);
}

/**
 * Write something down.
 * @param {string} url
 * @param {object} body JSON; `after` is put in.
 * @param {string} [replaces] a name: an unsent write of the same name is replaced by this one.
 * @returns {Promise<any>} the server's answer; rejects with `Told` where it said no.
 */
export function post(url, body, replaces) {
  const one = { id: crypto.getRandomValues(new Uint32Array(4)).join("-"), url, body: { after: lastAct(), ...body }, replaces };
  const same = replaces ? queue.findIndex((two, k) => two.replaces === replaces && !(k === 0 && running)) : -1;
  if (same >= 0) {
    waiters.get(queue[same].id)?.resolve(null);
    waiters.delete(queue[same].id);
    queue.splice(same, 1);
  }
  queue.push(one);
  store();
  const answer = new Promise((resolve, reject) => waiters.set(one.id, { resolve, reject }));
  run();
  return answer;
}

/** How many writes wait. */
export function unsent() {
  return queue.length;
}

function store() {
  if (queue.length) keep(NAME, queue);
  else drop(NAME);
  show(queue.length ? "sending" : "saved");
}

function show(state) {
  const place = document.getElementById("state");
  if (!place) return;
  place.dataset.state = state;
  const text = {
    saved: () => t("base.saved"),
    sending: () => t("base.sending"),
    away: () => t("base.unsent", { count: queue.length }),
  }[state]();
  if (place.textContent !== text) place.textContent = text;
}

async function run() {
  if (running) return;
  running = true;
  try {
    while (queue.length) {
      const one = queue[0];
      try {
        const answer = await send(one.url, one.body);
        learn(answer.act ?? 0);
        settle(one, (waiter) => waiter.resolve(answer));
        if (answer.told) tell(answer.told);
      } catch (error) {
        if (error instanceof Away) {
          show("away");
          await new Promise((go) => setTimeout(go, AGAIN_MS));
          continue;
        }
        const heard = waiters.has(one.id);
        settle(one, (waiter) => waiter.reject(error));
        if (!heard && error instanceof Told) tell(t("base.try_again", { told: error.message }));
      }
    }
  } finally {
    running = false;
  }
}

function settle(one, how) {
  queue.shift();
  store();
  const waiter = waiters.get(one.id);
  waiters.delete(one.id);
  if (waiter) how(waiter);
}

/** Tell the person something at the top of the page. @param {string} message */
export function tell(message) {
  const place = document.getElementById("told");
  place.querySelector("p").textContent = message;
  place.hidden = false;
}

/** Send what an earlier visit left unsent. */
export function resume() {
  if (queue.length) {
    store();
    run();
  }
}
