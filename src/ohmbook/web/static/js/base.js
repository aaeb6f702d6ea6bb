/** What every page does: undo and redo, light and dark, news, and what an earlier visit left. */
import { listen } from "./live.js";
import { post, resume, tell } from "./outbox.js";
import { t } from "./words.js";

const by = (id) => document.getElementById(id);

async function turn(url, said) {
  try {
    await post(url, {});
    by("state").textContent = t(said);
  } catch (error) {
    tell(error.message);
  }
}

function isDark() {
  const chosen = document.documentElement.dataset.theme;
  return chosen ? chosen === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
}

function setUpTheme() {
  const button = by("theme");
  const show = () => button.setAttribute("aria-pressed", String(isDark()));
  button.addEventListener("click", () => {
    const theme = isDark() ? "light" : "dark";
    document.documentElement.dataset.theme = theme;
    document.cookie = `theme=${theme}; path=/; max-age=31536000; samesite=strict`;
    show();
    document.dispatchEvent(new CustomEvent("ohmbook:theme"));
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    show();
    document.dispatchEvent(new CustomEvent("ohmbook:theme"));
  });
  show();
}

function typing(target) {
  return target.closest?.("input, textarea, select, [contenteditable]");
}

/** Ctrl+Z is the page's own where it has something finer to undo (it then prevents the default). */
function setUpKeys() {
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || !(event.ctrlKey || event.metaKey) || typing(event.target)) return;
    const key = event.key.toLowerCase();
    if (key === "z") {
      event.preventDefault();
      by(event.shiftKey ? "redo" : "undo").click();
    }
  });
}

/** A board's beginning can be taken back while its page is open: here, in another tab, by another. */
function setUpGone() {
  const { board } = document.body.dataset;
  let gone = false;
  document.addEventListener("ohmbook:changed", ({ detail }) => {
    if (!board || detail.there.includes(board) !== gone) return;
    gone = !gone;
    if (gone) tell(t("base.board_gone", { board }));
    else by("told").hidden = true;
  });
}

by("undo").addEventListener("click", () => turn("/api/undo", "base.undone"));
by("redo").addEventListener("click", () => turn("/api/redo", "base.redone"));
by("told").querySelector("button").addEventListener("click", () => (by("told").hidden = true));
by("board-pick")?.addEventListener("change", (event) => location.assign(event.target.value));
setUpTheme();
setUpKeys();
setUpGone();
resume();
listen();
