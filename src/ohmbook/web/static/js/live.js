/**
 * News of the notebook: the document gets "ohmbook:changed" with {last, boards, every, words} when
 * anybody has written, here, in another tab or at the command line.
 */
import { lastAct, learn, unsent } from "./outbox.js";
import { t } from "./words.js";

let line = null;
let away = false;

/** Listen for news. */
export function listen() {
  line = new EventSource(`/events?after=${lastAct()}`);
  line.addEventListener("changed", (event) => {
    const news = JSON.parse(event.data);
    learn(news.last);
    document.dispatchEvent(new CustomEvent("ohmbook:changed", { detail: news }));
  });
  line.addEventListener("open", () => show(false));
  line.addEventListener("error", () => {
    show(true);
    if (line.readyState === EventSource.CLOSED) setTimeout(listen, 1500);
  });
  window.addEventListener("pagehide", () => line.close(), { once: true });
}

/** Whether news are about a board. @param {{boards: string[], every: boolean}} news @param {string} board */
export function concerns(news, board) {
  return news.every || news.boards.includes(board);
}

function show(now) {
  if (now === away) return;
  away = now;
  const place = document.getElementById("state");
  if (unsent()) return;
  place.dataset.state = now ? "away" : "saved";
  place.textContent = now ? t("base.away") : t("base.saved");
}
