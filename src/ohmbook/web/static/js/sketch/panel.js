/** What stands around the canvas: tools, what is chosen, parts not drawn yet, what is doubtful. */
import { ask, upload } from "../api.js";
import { tell } from "../outbox.js";
import { t } from "../words.js";
import { withDrawing, withSaid } from "./model.js";
import { duplicate, erase, pickUp, turn } from "./tools.js";
import { icon } from "./symbols.js";
import { zoomBy } from "./pointer.js";

const by = (id) => document.getElementById(id);
const make = (tag, set = {}, ...inside) => {
  const made = Object.assign(document.createElement(tag), set);
  made.append(...inside);
  return made;
};

/** @param {import("./editor.js").Editor} editor */
export function setUpPanel(editor, { svg, url, whole, isBare, goTo, asks }) {
  const tools = [...document.querySelectorAll("[data-tool]")];
  for (const one of tools) {
    if (one.dataset.kind) one.prepend(icon(one.dataset.kind));
    one.addEventListener("click", () => editor.take(one.dataset.tool));
  }
  const deeds = {
    turn: () => turn(editor),
    move: () => {
      pickUp(editor);
      editor.byKeys = true;
      svg.focus({ preventScroll: true });
    },
    duplicate: () => duplicate(editor),
    erase: () => erase(editor, isBare),
    undo: () => editor.undo(),
    redo: () => editor.redo(),
    nearer: () => zoomBy(svg, editor, 1.25),
    farther: () => zoomBy(svg, editor, 0.8),
    whole,
  };
  const buttons = [...document.querySelectorAll("[data-deed]")];
  for (const one of buttons) one.addEventListener("click", () => deeds[one.dataset.deed]());

  function showTools() {
    for (const one of tools) one.setAttribute("aria-pressed", String(one.dataset.tool === editor.tool));
    svg.dataset.tool = editor.tool.split(":")[0];
    by("sketch-hint").textContent = hint(editor.tool);
    const none = !editor.chosen.size;
    for (const one of buttons) {
      const deed = one.dataset.deed;
      if (["move", "duplicate", "erase"].includes(deed)) one.disabled = none;
      if (deed === "turn") one.disabled = none && !document.querySelector(`[data-tool="${editor.tool}"][data-kind]`) && !editor.tool.startsWith("place:");
      if (deed === "undo") one.disabled = !editor.done.length;
      if (deed === "redo") one.disabled = !editor.undone.length;
    }
  }

  const hint = (tool) => (tool.includes(":") ? t("sketch.hint_place") : t(`sketch.hint_${tool}`));

  function showChosen() {
    const form = by("part-form");
    const ids = [...editor.chosen].filter((one) => one.startsWith("part:")).map((one) => one.slice(5));
    form.hidden = ids.length !== 1;
    if (form.hidden || form.contains(document.activeElement)) return;
    const part = editor.state.parts[ids[0]];
    form.dataset.part = ids[0];
    form.elements.name.value = part.name;
    form.elements.marking.value = part.raw.marking ?? "";
    form.elements.value.value = part.raw.kind === "driver" ? (part.raw.rated ?? "") : (part.raw.value ?? "");
    form.querySelector("[data-value-label]").textContent = t(part.raw.kind === "driver" ? "sketch.rated" : "sketch.value");
  }

  by("part-form").addEventListener("change", (event) => {
    const form = event.currentTarget;
    const { name, raw } = editor.state.parts[form.dataset.part];
    const next = { ...raw };
    put(next, "marking", form.elements.marking.value.trim());
    put(next, raw.kind === "driver" ? "rated" : "value", form.elements.value.value.trim());
    if (raw.kind === "driver" && !next.rated) next.rated = raw.rated;
    const called = form.elements.name.value.trim() || name;
    if (called === name && JSON.stringify(next) === JSON.stringify(raw)) return;
    editor.change(withSaid(editor.state, form.dataset.part, called, next));
  });
  by("part-form").addEventListener("submit", (event) => event.preventDefault());
  by("part-form").addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === "Escape") svg.focus({ preventScroll: true }); // what is typed is taken
  });

  function showUndrawn() {
    const list = by("undrawn");
    const left = Object.entries(editor.state.parts).filter(([, one]) => !one.place);
    list.closest("[data-holder]").hidden = !left.length;
    const drawn = editor.state.wires.length || Object.values(editor.state.parts).some((one) => one.place);
    by("sketch-empty").hidden = Boolean(drawn) || !svg.dataset.ready;
    list.replaceChildren(
      ...left.map(([id, one]) => {
        const button = make("button", { type: "button" }, icon(one.raw.kind), one.name);
        button.addEventListener("click", () => {
          editor.take(`place:${id}`);
          svg.focus({ preventScroll: true });
          svg.scrollIntoView({ block: "nearest" }); // the list stands below the drawing
        });
        return make("li", {}, button);
      }),
    );
  }

  function anew() {
    const button = make("button", { type: "button" }, t("sketch.anew"));
    button.addEventListener("click", async () => {
      try {
        const { drawing } = await ask(`${url}/anew`);
        editor.change(withDrawing(editor.state, drawing), []);
        whole();
      } catch (error) {
        tell(error.message);
      }
    });
    return button;
  }

  function showRemarks() {
    const { remarks } = editor.look;
    by("remarks").replaceChildren(
      ...remarks.map((one) => {
        const button = make("button", { type: "button", className: "quiet" }, one.message);
        button.addEventListener("click", () => one.at.length && goTo(one.at[0]));
        const item = make("li", {}, one.at.length ? button : make("p", {}, one.message));
        if (one.kind === "differs") {
          item.className = "grave";
          item.append(anew());
        }
        return item;
      }),
    );
    const { findings, fault } = editor.values;
    by("doubts").replaceChildren(
      ...findings.map((one) =>
        make("li", {}, make("p", {}, one.message), make("ul", {}, ...one.explanations.map((each) => make("li", {}, [each.what, each.change, each.chance].filter(Boolean).join("; "))))),
      ),
    );
    by("doubts-holder").hidden = !findings.length;
    by("sketch-fault").textContent = fault && Object.keys(editor.state.parts).length ? fault : "";
    by("sketch-fine").hidden = Boolean(remarks.length || findings.length) || !Object.values(editor.state.parts).some((one) => one.place);
  }

  setUpPhoto(editor, url);
  setUpShapes(editor, svg, asks);

  editor.on((what) => {
    if (["tool", "chosen", "state", "state-shown", "replaced"].includes(what)) {
      showTools();
      showChosen();
    }
    if (["state", "replaced", "look"].includes(what)) showUndrawn();
    if (["look", "replaced", "values"].includes(what)) showRemarks();
  });
  showTools();
}

function put(raw, key, value) {
  if (value) raw[key] = value;
  else delete raw[key];
}

/** A photo under the drawing: which, how wide, how strong. */
function setUpPhoto(editor, url) {
  const form = by("photo-form");
  const { which, width, opacity, x, y, file } = form.elements;
  const now = () => editor.state.photo;
  function show() {
    const names = ["", ...(editor.look.photos ?? [])];
    which.replaceChildren(...names.map((one) => new Option(one || t("sketch.no_photo"), one)));
    which.value = now()?.attachment ?? "";
    if (form.contains(document.activeElement)) return;
    width.value = now()?.width ?? 60;
    opacity.value = Math.round((now()?.opacity ?? 0.5) * 100);
    [x.value, y.value] = now()?.at ?? [0, 0];
  }
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", (event) => {
    if (event.target === file) return;
    const number = (field, or) => (Number.isFinite(Number.parseInt(field.value, 10)) ? Number.parseInt(field.value, 10) : or);
    const photo = which.value
      ? { attachment: which.value, at: [number(x, 0), number(y, 0)], width: Math.max(1, number(width, 60)), opacity: number(opacity, 50) / 100 }
      : null;
    editor.change({ ...editor.state, photo });
  });
  file.addEventListener("change", async () => {
    const [one] = file.files;
    if (!one) return;
    try {
      const made = await upload(`${url}/photo/${encodeURIComponent(one.name)}`, one);
      editor.look.photos = [...(editor.look.photos ?? []), made.name];
      editor.change({ ...editor.state, photo: { attachment: made.name, at: [0, 0], width: 60, opacity: 0.5 } });
    } catch (error) {
      tell(error.message);
    }
    file.value = "";
  });
  editor.on((what) => ["look", "replaced", "state"].includes(what) && show());
}

/** Networks to begin with: fetched when they are first looked at. */
function setUpShapes(editor, svg, asks) {
  const holder = by("shapes");
  let shapes = null;
  asks.shape = (key) => shapes.find((one) => one.key === key);
  const fill = async () => {
    if (shapes) return;
    try {
      shapes = await ask("/api/sketch/shapes");
    } catch (error) {
      tell(error.message);
      return;
    }
    for (const list of holder.querySelectorAll("[data-shapes]")) {
      const own = shapes.filter((one) => String(one.whole) === list.dataset.shapes);
      list.replaceChildren(
        ...own.map((one) => {
          const button = make("button", { type: "button" }, t(`sketch.shape_${one.key}`));
          button.addEventListener("click", () => {
            editor.take(`shape:${one.key}`);
            holder.open = false;
            svg.focus({ preventScroll: true });
          });
          return make("li", {}, button);
        }),
      );
    }
  };
  holder.addEventListener("toggle", () => {
    // The toolbar wraps, so the list opens to whichever side has room for it.
    const { left } = holder.getBoundingClientRect();
    const wide = holder.querySelector(".sheet").offsetWidth;
    holder.classList.toggle("leftward", left + wide > document.documentElement.clientWidth);
    return fill();
  });
}
