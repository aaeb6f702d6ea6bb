/** The small forms under the canvas: a node's name, an output, an amplitude at a node. */
import { post } from "../outbox.js";
import { t } from "../words.js";
import { key } from "./geometry.js";
import { withMark, withName } from "./model.js";
import { netUnder } from "./pointer.js";

const NEAR = 2;
const by = (id) => document.getElementById(id);

/** The node with a point near by: a probe is not set down to a hair. */
function nearest(nets, [x, y]) {
  const found = nets
    .filter((one) => one.name && one.ends.length)
    .map((one) => [Math.min(...one.spots.map((spot) => Math.hypot(spot[0] - x, spot[1] - y))), one.name])
    .sort((a, b) => a[0] - b[0]);
  return found.length && found[0][0] <= NEAR ? found[0][1] : null;
}

/** @param {import("./editor.js").Editor} editor
 * @param {{svg: SVGSVGElement, url: string, looked: (look: any) => void, say: (text: string) => void}} held */
export function setUpForms(editor, { svg, url, looked, say }) {
  const name = by("name-form");
  const probe = by("probe-form");
  let connected = null;

  function show(form) {
    for (const one of [name, probe]) one.hidden = one !== form;
    if (!form) {
      svg.focus({ preventScroll: true });
      svg.scrollIntoView({ block: "nearest" });
    } else {
      form.querySelector("input").focus({ preventScroll: true });
      form.scrollIntoView({ block: "nearest" });
    }
  }

  /** Ask for a text. @param {string} label @param {string} value @param {(text: string) => void} done */
  function askText(label, value, done) {
    name.querySelector("span").textContent = label;
    name.elements.text.value = value;
    name.onsubmit = (event) => {
      event.preventDefault();
      show(null);
      done(name.elements.text.value.trim());
    };
    show(name);
    name.elements.text.select();
  }

  for (const form of [name, probe]) {
    form.addEventListener("keydown", (event) => event.key === "Escape" && show(null));
    form.querySelector("[data-close]").addEventListener("click", () => show(null));
  }

  function openProbe(spot, point) {
    const node = netUnder(editor, point, spot) ?? nearest(editor.look.nets, point);
    if (!node) {
      say(t("sketch.no_node"));
      return;
    }
    const nodes = editor.look.nets.filter((one) => one.name && one.ends.length).map((one) => one.name);
    probe.querySelector("[data-node]").textContent = node;
    probe.dataset.node = node;
    const at = Array.isArray(connected.at) ? connected.at.join(" | ") : connected.at ?? "";
    const select = probe.elements.at;
    select.replaceChildren(...[...new Set([at, ...nodes])].filter(Boolean).map((one) => new Option(one.replace(" | ", " – "), one)));
    select.value = at || nodes[0];
    probe.elements.frequency.value = connected.frequency;
    probe.elements.amplitude.value = "";
    probe.querySelector("[data-detached]").replaceChildren(...drivers());
    const added = connected.new ?? [];
    probe.querySelector("[data-new]").hidden = !added.length;
    probe.querySelector("[data-new] span").textContent = t("sketch.probe_new", { names: added.join(", ") });
    fault("");
    show(probe);
  }

  function drivers() {
    const placed = Object.values(editor.state.parts).filter((one) => one.place && one.raw.kind === "driver");
    return placed.map((one) => {
      const label = document.createElement("label");
      const box = Object.assign(document.createElement("input"), { type: "checkbox", value: one.name, checked: connected.detached.includes(one.name) });
      label.append(box, ` ${t("sketch.unplugged", { part: one.name })}`);
      return label;
    });
  }

  function fault(message) {
    probe.querySelector(".fault").textContent = message;
    probe.elements.amplitude.setAttribute("aria-invalid", String(Boolean(message)));
  }

  probe.addEventListener("submit", async (event) => {
    event.preventDefault();
    const at = probe.elements.at.value.split(" | ");
    const how = {
      at: at.length > 1 ? at : at[0],
      frequency: probe.elements.frequency.value.trim(),
      detached: [...probe.querySelectorAll("[data-detached] input:checked")].map((one) => one.value),
    };
    connected = { ...connected, ...how };
    try {
      const look = await post(`${url}/probe`, { amplitudes: { [probe.dataset.node]: probe.elements.amplitude.value.trim() }, ...how });
      connected = look.connected;
      looked(look);
      show(null);
      say(t("sketch.read_at", { node: probe.dataset.node }));
      document.dispatchEvent(new CustomEvent("ohmbook:saved"));
    } catch (error) {
      fault(error.message);
      probe.elements.amplitude.focus();
    }
  });

  return {
    asks: {
      name(spot) {
        const there = editor.state.names.find((one) => key(one.at) === key(spot))?.name ?? editor.netAt(spot)?.name ?? "";
        askText(t("sketch.name_of_node"), there, (text) => editor.change(withName(editor.state, spot, text)));
      },
      output(spot) {
        askText(t("sketch.name_of_output"), "", (text) => text && editor.change(withMark(editor.state, { kind: "output", name: text, at: spot })));
      },
      probe: openProbe,
      edit() {
        const form = by("part-form");
        if (!form.hidden) form.elements.name.select();
      },
      shape: () => null,
    },
    connect(now) {
      connected = now;
    },
    askText,
  };
}
