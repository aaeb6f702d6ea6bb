/** Mouse, pen and fingers on the canvas: act, drag, pan, zoom. */
import { G, route } from "./geometry.js";
import { thingAt, within } from "./chosen.js";
import { withWire } from "./model.js";
import { act, carry, foresee, joinsAt, pickUp, putDown } from "./tools.js";

const STILL_PX = { mouse: 4, pen: 6, touch: 10 };

/** @param {SVGSVGElement} svg @param {import("./editor.js").Editor} editor @param {any} asks */
export function setUpPointer(svg, editor, asks) {
  const down = new Map();
  let drag = null;

  const pointOf = (event) => {
    const box = svg.getBoundingClientRect();
    const { x, y, zoom } = editor.view;
    return [x + (event.clientX - box.left) / zoom / G, y + (event.clientY - box.top) / zoom / G];
  };
  const spotOf = (event) => pointOf(event).map(Math.round);
  const reach = (event) => (event.pointerType === "touch" ? 0.9 : 0.5) / Math.min(editor.view.zoom, 1);

  // A finger's mouse events come late, and would take the focus from a form that it has opened.
  svg.addEventListener("mousedown", (event) => event.preventDefault());
  svg.addEventListener("pointerdown", (event) => {
    svg.focus({ preventScroll: true });
    down.set(event.pointerId, [event.clientX, event.clientY]);
    svg.setPointerCapture(event.pointerId);
    if (down.size === 2) {
      if (drag?.kind === "carry") carry(editor, [0, 0]), putDown(editor);
      drag = { kind: "pinch", ...pinchOf([...down.values()]), view: { ...editor.view } };
      return;
    }
    const point = pointOf(event);
    const pan = event.button === 1 || event.button === 2;
    drag = { kind: pan ? "pan" : "press", at: [event.clientX, event.clientY], point, view: { ...editor.view } };
    if (event.button === 1) event.preventDefault();
  });

  svg.addEventListener("pointermove", (event) => {
    const spot = spotOf(event);
    if (down.has(event.pointerId)) down.set(event.pointerId, [event.clientX, event.clientY]);
    if (drag?.kind === "pinch" && down.size === 2) pinch([...down.values()]);
    else if (drag && down.size === 1) move(event, spot);
    else if (!down.size) hover(event, spot);
  });

  function hover(event, spot) {
    editor.byKeys = false;
    const moved = spot[0] !== editor.cursor[0] || spot[1] !== editor.cursor[1];
    editor.cursor = spot;
    editor.hover = netUnder(editor, pointOf(event), spot);
    if (moved && editor.pending?.kind !== "carry") foresee(editor, spot, false);
    editor.tell("shown");
  }

  function move(event, spot) {
    const still = STILL_PX[event.pointerType] ?? 6;
    const way = Math.hypot(event.clientX - drag.at[0], event.clientY - drag.at[1]);
    if (drag.kind === "press" && way > still) begin(event);
    if (drag.kind === "pan") {
      const { zoom } = drag.view;
      editor.view = {
        zoom,
        x: drag.view.x - (event.clientX - drag.at[0]) / zoom / G,
        y: drag.view.y - (event.clientY - drag.at[1]) / zoom / G,
      };
      editor.tell("view");
    } else if (drag.kind === "carry") carry(editor, [Math.round(pointOf(event)[0] - drag.point[0]), Math.round(pointOf(event)[1] - drag.point[1])]);
    else if (drag.kind === "box") {
      editor.pending = { kind: "box", box: [drag.point, pointOf(event)] };
      editor.tell("shown");
    } else if (drag.kind === "wire") {
      const from = drag.point.map(Math.round);
      const across = Math.abs(spot[0] - from[0]) >= Math.abs(spot[1] - from[1]);
      editor.pending = { kind: "drawn", way: route(from, spot, across) };
      editor.tell("shown");
    }
  }

  /** What a drag is: something is carried, a box is drawn, a wire is pulled, or one looks elsewhere. */
  function begin(event) {
    const thing = thingAt(editor.state, drag.point, reach(event));
    // A finger moves what is chosen; on anything else it moves the paper.
    const grabs = event.pointerType !== "touch" || editor.chosen.has(thing);
    if (editor.tool === "select" && thing && grabs) {
      if (!editor.chosen.has(thing)) editor.choose([thing], event.shiftKey);
      pickUp(editor);
      drag.kind = "carry";
    } else if (editor.tool === "wire" && joinsAt(editor.state, drag.point.map(Math.round))) drag.kind = "wire";
    else if (editor.tool === "select" && event.pointerType !== "touch") drag.kind = "box";
    else drag.kind = "pan";
  }

  const up = (event) => {
    const ended = drag;
    const alone = down.size === 1;
    down.delete(event.pointerId);
    if (!ended) return;
    if (!alone) {
      drag = down.size ? { kind: "none", at: [0, 0] } : null;
      return;
    }
    drag = null;
    if (event.type === "pointercancel") {
      if (ended.kind === "carry") carry(editor, [0, 0]), putDown(editor);
      editor.pending = null;
      editor.tell("shown");
      return;
    }
    release(event, ended);
  };

  function release(event, ended) {
    if (ended.kind === "press") {
      editor.cursor = spotOf(event);
      editor.byKeys = false;
      act(editor, spotOf(event), pointOf(event), asks, { more: event.shiftKey, reach: reach(event) });
    } else if (ended.kind === "carry") putDown(editor);
    else if (ended.kind === "box") {
      editor.pending = null;
      editor.choose(within(editor.state, ended.point, pointOf(event)), event.shiftKey);
    } else if (ended.kind === "wire") {
      const { way } = editor.pending ?? {};
      editor.pending = null;
      if (way) editor.change(withWire(editor.state, way), []);
    }
    editor.tell("shown");
  }
  svg.addEventListener("pointerup", up);
  svg.addEventListener("pointercancel", up);
  svg.addEventListener("pointerleave", () => {
    editor.hover = null;
    if (editor.pending?.kind === "ghost") editor.pending = null;
    editor.tell("shown");
  });
  svg.addEventListener("contextmenu", (event) => event.preventDefault());

  function pinch(spots) {
    const now = pinchOf(spots);
    const zoom = limited(drag.view.zoom * (now.apart / drag.apart));
    const box = svg.getBoundingClientRect();
    const fixed = [
      drag.view.x + (drag.middle[0] - box.left) / drag.view.zoom / G,
      drag.view.y + (drag.middle[1] - box.top) / drag.view.zoom / G,
    ];
    editor.view = {
      zoom,
      x: fixed[0] - (now.middle[0] - box.left) / zoom / G,
      y: fixed[1] - (now.middle[1] - box.top) / zoom / G,
    };
    editor.tell("view");
  }

  svg.addEventListener(
    "wheel",
    (event) => {
      if (!event.ctrlKey && document.activeElement !== svg) return; // the page scrolls
      event.preventDefault();
      zoomBy(svg, editor, Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0015)), [event.clientX, event.clientY]);
    },
    { passive: false },
  );
}

function pinchOf([a, b]) {
  return { apart: Math.max(Math.hypot(a[0] - b[0], a[1] - b[1]), 1), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
}

const limited = (zoom) => Math.min(4, Math.max(0.2, zoom));

/** Zoom about a point of the screen; about the middle where none is given. */
export function zoomBy(svg, editor, factor, at) {
  const box = svg.getBoundingClientRect();
  const [cx, cy] = at ?? [box.left + box.width / 2, box.top + box.height / 2];
  const { x, y, zoom } = editor.view;
  const next = limited(zoom * factor);
  editor.view = {
    zoom: next,
    x: x + ((cx - box.left) / G) * (1 / zoom - 1 / next),
    y: y + ((cy - box.top) / G) * (1 / zoom - 1 / next),
  };
  editor.tell("view");
}

/** The node under a point: a wire's, or that of a part's end. */
export function netUnder(editor, point, spot) {
  const at = editor.netAt(spot);
  if (at?.name) return at.name;
  const thing = thingAt(editor.state, point, 0.5);
  if (!thing?.startsWith("wire:")) return null;
  const [x, y] = thing.slice(5).split(",").map(Number);
  return editor.netAt([x, y])?.name || null;
}
