/** The picture of the state, made anew after each change. */
import { G, ends, key, middle, piecesOf, spotsOf } from "./geometry.js";
import { markKey, nameKey, wireKey } from "./chosen.js";
import { dots } from "./model.js";
import { el, markSymbol, symbol } from "./symbols.js";
import { t } from "../words.js";

/** Below this zoom texts are larger and fewer. */
const FAR = 0.75;

/** Whether the texts are to be drawn anew after one looks from elsewhere. */
export const farChanged = (editor) => editor.far !== editor.view.zoom < FAR;

const px = (spot) => [spot[0] * G, spot[1] * G];
const points = (spots) => spots.map((one) => px(one).join(",")).join(" ");

/** Draw everything. @param {SVGSVGElement} svg @param {import("./editor.js").Editor} editor @param {string} photos where photos are */
export function draw(svg, editor, photos) {
  editor.far = editor.view.zoom < FAR;
  const layers = Object.fromEntries([...svg.querySelectorAll("[data-layer]")].map((one) => [one.dataset.layer, one]));
  const { state, chosen } = editor;
  layers.photo.replaceChildren(...photo(state.photo, photos));
  layers.wires.replaceChildren(
    ...state.wires.map((one) => {
      const picked = chosen.has(wireKey(one));
      const line = el("polyline", { points: points(spotsOf(one)), class: picked ? "wire chosen" : "wire" });
      line.dataset.thing = wireKey(one);
      return line;
    }),
    ...dots(state).map((one) => el("circle", { cx: one[0] * G, cy: one[1] * G, r: 3.2, class: "dot" })),
  );
  layers.parts.replaceChildren(...Object.entries(state.parts).flatMap(([id, one]) => (one.place ? [part(id, one, editor)] : [])));
  layers.marks.replaceChildren(...state.marks.map((one) => mark(one, chosen)), ...state.names.map((one) => name(one, chosen)));
  drawAbout(layers.about, editor);
  drawShown(layers.shown, editor);
}

function photo(one, photos) {
  if (!one) return [];
  const image = el("image", {
    href: `${photos}/${encodeURIComponent(one.attachment)}`,
    x: one.at[0] * G,
    y: one.at[1] * G,
    width: one.width * G,
    opacity: one.opacity,
  });
  return [image];
}

function part(id, one, editor) {
  const picked = editor.chosen.has(`part:${id}`);
  const left = editor.look.left_out.includes(one.name);
  const shown = editor.values.values[one.name];
  const state = shown?.state ?? "unread";
  const group = el("g", { class: `part ${state}${picked ? " chosen" : ""}${left ? " left-out" : ""}` });
  group.dataset.thing = `part:${id}`;
  group.append(symbol(one.raw.kind, one.place), ...label(one, shown, editor.far));
  return group;
}

const open = (shown) => shown?.state === "open";

/** Name, value and how well it is known: above what lies, to the right of what stands. */
function label(one, shown, far) {
  const [cx, cy] = px(middle(one.place));
  const stands = one.place[2] % 180 === 90;
  const driver = one.raw.kind === "driver";
  const lines = [["name", one.name]];
  const stated = one.raw.value || one.raw.rated || (one.raw.marking ? `“${one.raw.marking}”` : "");
  const value = shown?.value || stated || (shown?.state === "unread" ? t("sketch.not_read") : "");
  if (value) lines.push(["value", open(shown) ? t("sketch.open_value", { value }) : value]);
  if (shown?.well && !far && shown.state !== "open") lines.push(["well", shown.well]);
  const high = far ? 18 : 13;
  if (stands) {
    const x = cx + (driver ? 26 : 16);
    const y = cy - ((lines.length - 1) * high) / 2 + 4;
    return lines.map(([kind, text], k) => el("text", { x, y: y + k * high, class: `label ${kind}` }, text));
  }
  const joined = lines.length === 3 ? [lines[0], ["value", `${lines[1][1]} `, lines[2][1]]] : lines;
  const y = cy - (driver ? 28 : 15) - (joined.length - 1) * high;
  return joined.map(([kind, text, well], k) => {
    const made = el("text", { x: cx, y: y + k * high, class: `label ${kind} middle` }, text);
    if (well) made.append(el("tspan", { class: "well" }, well));
    return made;
  });
}

function mark(one, chosen) {
  const group = markSymbol(one);
  group.dataset.thing = markKey(one);
  if (chosen.has(markKey(one))) group.classList.add("chosen");
  const texts = { input: `${t("sketch.mark_input")} +`, return: `${t("sketch.mark_input")} −`, output: `${one.name ?? ""} +` };
  if (one.kind === "output") group.append(el("text", { x: 8, y: -7, class: "label mark-name" }, texts.output));
  else if (one.kind !== "ground") group.append(el("text", { x: -8, y: -9, class: "label mark-name middle" }, texts[one.kind]));
  if (!one.against) return group;
  const [x, y] = [(one.against[0] - one.at[0]) * G, (one.against[1] - one.at[1]) * G];
  group.append(el("circle", { cx: x, cy: y, r: 4, class: "terminal" }));
  group.append(el("text", { x: x + 8, y: y - 7, class: "label mark-name" }, `${one.name} −`));
  return group;
}

function name(one, chosen) {
  const [x, y] = px(one.at);
  const made = el("text", { x: x + 3, y: y - 5, class: `node-name${chosen.has(nameKey(one)) ? " chosen" : ""}` }, one.name);
  made.dataset.thing = nameKey(one);
  return made;
}

/** Remarks and findings where they are, and nodes that have been read. */
export function drawAbout(layer, editor) {
  const found = [];
  editor.look.remarks.forEach((one, k) => {
    for (const spot of one.at) {
      const [x, y] = px(spot);
      const group = el("g", { class: "remark", transform: `translate(${x} ${y})` });
      group.append(el("circle", { r: 11, class: "ring" }), el("text", { x: 11, y: -9, class: "number" }, String(k + 1)));
      group.append(el("title", {}, one.message));
      found.push(group);
    }
  });
  const doubted = new Set(editor.values.findings.flatMap((one) => one.parts));
  for (const one of Object.values(editor.state.parts)) {
    if (!one.place || !doubted.has(one.name)) continue;
    const [x, y] = px(middle(one.place));
    const stands = one.place[2] % 180 === 90;
    found.push(el("rect", { class: "doubted", x: x - (stands ? 15 : 33), y: y - (stands ? 33 : 15), width: stands ? 30 : 66, height: stands ? 66 : 30, rx: 3 }));
  }
  for (const [node, times] of Object.entries(editor.look.probed)) {
    const spot = spotOf(editor, node);
    if (!spot) continue;
    const [x, y] = px(spot);
    const made = el("path", { class: "probed", d: `M${x - 12} ${y - 8}l3 3.5l5.5 -7.5` });
    made.append(el("title", {}, t("sketch.read_times", { node, count: times })));
    found.push(made);
  }
  for (const node of editor.wanted) {
    const spot = spotOf(editor, node);
    if (!spot) continue;
    const [x, y] = px(spot);
    const group = el("g", { class: "wanted", transform: `translate(${x} ${y})` });
    group.append(el("circle", { r: 9 }), el("path", { d: "M-6 6L-22 22" }), el("text", { x: -24, y: 32, class: "end" }, node));
    found.push(group);
  }
  layer.replaceChildren(...found);
}

/** Where a node is best pointed at: where its name is written, else at one of its points. */
function spotOf(editor, node) {
  const written = editor.state.names.find((one) => one.name === node)?.at;
  return written ?? editor.look.nets.find((one) => one.name === node)?.spots[0] ?? null;
}

/** What moves with the pointer: the node under it, what is being drawn, the grid cursor. */
export function drawShown(layer, editor) {
  const found = [];
  const net = editor.hover && editor.look.nets.find((one) => one.name === editor.hover);
  if (net) {
    const spots = new Set(net.spots.map(key));
    for (const one of editor.state.wires) {
      if (piecesOf(one).flat().some((spot) => spots.has(key(spot)))) found.push(el("polyline", { points: points(spotsOf(one)), class: "net" }));
    }
    for (const one of net.spots) found.push(el("circle", { cx: one[0] * G, cy: one[1] * G, r: 4.5, class: "net-spot" }));
    found.push(el("text", { x: editor.cursor[0] * G + 10, y: editor.cursor[1] * G - 12, class: "net-tag" }, net.name));
  }
  if (editor.tool === "probe") {
    const written = new Set(editor.state.names.map((one) => one.name));
    for (const one of editor.look.nets) {
      if (!one.name || one.ground || !one.ends.length || written.has(one.name)) continue;
      found.push(el("text", { x: one.spots[0][0] * G + 3, y: one.spots[0][1] * G - 5, class: "node-name" }, one.name));
    }
  }
  const { pending } = editor;
  if (pending?.way?.length > 1) found.push(el("polyline", { points: points(pending.way), class: "ghost-wire" }));
  if (pending?.ghost) {
    const group = el("g", { class: "ghost" });
    if (pending.ghost.kind === "mark") group.append(markSymbol(pending.ghost.mark));
    else group.append(symbol(pending.ghost.kind, pending.ghost.place));
    found.push(group);
  }
  if (pending?.box) {
    const [[x0, y0], [x1, y1]] = pending.box;
    found.push(el("rect", { class: "box", x: Math.min(x0, x1) * G, y: Math.min(y0, y1) * G, width: Math.abs(x1 - x0) * G, height: Math.abs(y1 - y0) * G }));
  }
  const [x, y] = px(editor.cursor);
  found.push(el("path", { class: `cursor${editor.byKeys ? " by-keys" : ""}`, d: `M${x - 9} ${y}H${x + 9}M${x} ${y - 9}V${y + 9}` }));
  layer.replaceChildren(...found);
}

/** Where to look, as the picture's own frame. */
export function drawView(svg, editor) {
  const { x, y, zoom } = editor.view;
  svg.classList.toggle("far", editor.far);
  const { width, height } = svg.getBoundingClientRect();
  svg.setAttribute("viewBox", `${x * G} ${y * G} ${Math.max(width, 1) / zoom} ${Math.max(height, 1) / zoom}`);
}

/** A view in which all of the drawing is seen. */
export function whole(svg, state) {
  const spots = [
    ...Object.values(state.parts).flatMap((one) => (one.place ? ends(one.place) : [])),
    ...state.wires.flatMap(spotsOf),
    ...state.marks.map((one) => one.at),
  ];
  const { width, height } = svg.getBoundingClientRect();
  if (!spots.length) return { x: -width / G / 2 + 8, y: -6, zoom: 1 };
  const xs = spots.map((one) => one[0]);
  const ys = spots.map((one) => one[1]);
  const [x0, x1, y0, y1] = [Math.min(...xs) - 4, Math.max(...xs) + 8, Math.min(...ys) - 4, Math.max(...ys) + 3];
  const zoom = Math.min(1.6, Math.max(0.2, Math.min(width / ((x1 - x0) * G), height / ((y1 - y0) * G))));
  return {
    x: (x0 + x1) / 2 - width / zoom / G / 2,
    y: (y0 + y1) / 2 - height / zoom / G / 2,
    zoom,
  };
}
