/** The sketch as a picture on any page, with the nodes that are to be read marked in it. */
import { ask } from "../api.js";
import { Editor } from "./editor.js";
import { fromLook } from "./model.js";
import { draw, drawView, whole } from "./render.js";
import { el } from "./symbols.js";

/**
 * Draw a board's sketch into an empty svg element (give it class "sketch-picture" and a size by CSS;
 * `sketch.css` has the look).
 * @param {SVGSVGElement} svg @param {string} board
 * @param {{read?: string[], values?: boolean}} [wanted] nodes to be marked; whether values are shown
 */
export async function showSketch(svg, board, { read = [], values = false } = {}) {
  const url = `/api/b/${encodeURIComponent(board)}/sketch`;
  const look = await ask(url);
  const editor = new Editor(fromLook(look, null).state);
  editor.look = { ...look, remarks: [] };
  editor.wanted = read;
  const layers = ["photo", "wires", "parts", "marks", "about", "shown"];
  svg.replaceChildren(...layers.map((name) => {
    const layer = el("g");
    layer.dataset.layer = name;
    return layer;
  }));
  if (values) editor.values = await ask(`${url}/values`);
  editor.view = whole(svg, editor.state);
  draw(svg, editor, `${url}/photo`);
  drawView(svg, editor);
  return {
    /** Mark other nodes. @param {string[]} nodes */
    mark(nodes) {
      editor.wanted = nodes;
      draw(svg, editor, `${url}/photo`);
    },
  };
}
