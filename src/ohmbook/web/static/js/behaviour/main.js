/** Behaviour beside the sketch: curves that follow the values, and what has changed in words. */
import { Away, Told } from "../api.js";
import { keep, kept } from "../keep.js";
import { concerns } from "../live.js";
import { t } from "../words.js";
import { Asking } from "./asking.js";
import { InWords } from "./inwords.js";
import { Pins } from "./pins.js";
import { KINDS, Plots } from "./plots.js";
import { Readout } from "./readout.js";
import { Values } from "./values.js";
import { Width } from "./width.js";
import { row } from "./wire.js";

const REST_MS = 160;
const KEEP_MS = 300;
const AGAIN_MS = 1500;
const FEW = 200;
const MANY = 1000;
const INPUT = "input";

class Behaviour {
  constructor(root) {
    this.root = root;
    this.board = root.dataset.behaviour;
    this.asking = new Asking(
      this.board,
      (found, state) => this.came(found, state),
      (error, state) => this.failed(error, state),
    );
    this.name = `behaviour:${this.board}`;
    const before = kept(this.name) ?? {};
    this.to = new Map(before.to ?? []);
    this.exact = root.querySelector(".bh-exact input");
    this.exact.checked = Boolean(before.exact);
    this.token = "";
    this.seq = 0;
    this.settled = null;
    this.moved = null;
    this.plots = new Plots(root, (kind) => kind === this.view() && this.drawn());
    this.readout = new Readout(root, this.plots, (f) => this.rests(f));
    this.values = new Values(root, (key, value) => this.move(key, value));
    this.width = new Width(root);
    this.told = new InWords(root, this.readout);
    this.pins = new Pins(root.querySelector(".bh-pins"), {
      changed: () => this.pinsChanged(),
      take: (to) => this.take(to),
    });
    this.pins.restore(before.pins ?? []);
    this.listen();
    this.load();
  }

  by(name) {
    return this.root.querySelector(name);
  }

  listen() {
    this.by(".bh-all-back").addEventListener("click", () => this.take([]));
    this.by(".bh-pin").addEventListener("click", () => this.pin());
    this.exact.addEventListener("change", () => this.changed());
    for (const one of this.root.querySelectorAll("[data-view]")) {
      one.addEventListener("click", () => this.look(one.dataset.view));
    }
    document.addEventListener("ohmbook:changed", (event) => {
      if (concerns(event.detail, this.board)) this.again();
    });
    document.addEventListener("ohmbook:saved", () => this.again());
    window.addEventListener("pagehide", () => this.keep());
    document.addEventListener("ohmbook:theme", () => this.settled && this.readout.build());
    this.look("gain");
  }

  view() {
    return this.root.dataset.view;
  }

  look(kind) {
    this.root.dataset.view = kind;
    for (const one of this.root.querySelectorAll("[data-view]")) {
      if (one.tagName === "BUTTON") one.setAttribute("aria-pressed", String(one.dataset.view === kind));
    }
  }

  again() {
    clearTimeout(this.reload);
    this.reload = setTimeout(() => this.load(), REST_MS);
  }

  /** The settled curves, anew; what is moved stays moved. */
  async load() {
    try {
      const found = await this.asking.settled();
      if (found?.rows) this.opened(found);
      else if (found) this.missing(found.told);
    } catch {
      if (!this.settled) this.by(".bh-loading").textContent = t("behaviour.away");
      this.reload = setTimeout(() => this.load(), AGAIN_MS);
    }
  }

  missing(told) {
    this.settled = null;
    this.by(".bh-loading").hidden = this.by(".bh-main").hidden = true;
    this.by(".bh-missing").hidden = false;
    this.by(".bh-missing p").textContent = told;
  }

  opened({ header, rows }) {
    this.token = header.token;
    this.settled = rows;
    this.header = header;
    this.x = Array.from(rows.get(row("frequency_hz", INPUT)));
    this.by(".bh-loading").hidden = this.by(".bh-missing").hidden = true;
    this.by(".bh-main").hidden = false;
    this.by(".bh-mind").hidden = !header.mind;
    this.by(".bh-mind span").textContent = header.mind ? `${header.mind}.` : "";
    this.values.learn(header.values);
    for (const key of this.to.keys()) if (!this.values.rows.has(key)) this.to.delete(key);
    this.told.places(header.places);
    this.moved = null;
    this.told.sums(header);
    this.paint();
    this.readout.build();
    if (this.readout.index === null) this.readout.go(header.places[0]?.f_hz ?? 1000, false);
    else this.readout.move(this.readout.index, false);
    if (this.to.size || this.pins.all.length) this.changed();
    else this.unmoved();
    this.fetchPins();
  }

  /** A value is moved, or put back. */
  move(key, value) {
    if (value === null) this.to.delete(key);
    else this.to.set(key, value);
    this.changed();
  }

  take(to) {
    this.to = new Map(to);
    this.changed();
  }

  changed() {
    this.seq += 1;
    clearTimeout(this.rest);
    clearTimeout(this.keeping);
    this.keeping = setTimeout(() => this.keep(), KEEP_MS);
    this.by(".bh-all-back").disabled = !this.to.size;
    if (!this.settled) return;
    if (!this.to.size && !this.pins.all.length) {
      this.moved = null;
      this.unmoved();
      this.paint();
      return;
    }
    this.ask(FEW);
    this.rest = setTimeout(() => this.ask(MANY), REST_MS);
  }

  keep() {
    keep(this.name, { to: [...this.to], exact: this.exact.checked, pins: this.pins.kept() });
  }

  ask(draws) {
    const many = draws === MANY;
    this.asking.moved({
      seq: this.seq,
      token: this.token,
      to: [...this.to],
      exact: this.exact.checked,
      draws,
      curves: many ? KINDS : KINDS.filter((one) => this.plots.seen.has(one)),
      pins: many ? this.pins.all : [],
    });
  }

  came({ header, rows }, { seq, to, token }) {
    if (token !== this.token || (!this.to.size && to.length)) return;
    for (const one of header.values) {
      const key = `${one.part}/${one.quantity}`;
      if (typeof this.to.get(key) === "string") this.to.set(key, one.value);
    }
    this.shown = { seq, draws: header.draws };
    this.moved = to.length ? rows : null;
    this.by(".bh-fault").hidden = true;
    this.values.show(this.to, header.values);
    if (!to.length) this.told.sums(this.header);
    else if (header.summary) this.told.sums(header);
    this.told.differences(to.length ? header.told : [t("behaviour.nothing_moved")]);
    this.pins.compare(header.pins);
    if (to.length && header.draws === MANY) this.told.say(header.told[0]);
    this.paint();
  }

  failed(error, { to, token }) {
    if (!(error instanceof Told || error instanceof Away)) {
      // a fault of the page itself: seen in the console, not taken for the server's silence
      setTimeout(() => {
        throw error;
      });
      return;
    }
    if (error instanceof Told && error.status === 409 && token === this.token) {
      this.load();
      return;
    }
    const typed = to.filter(([, value]) => typeof value === "string");
    for (const [key] of typed) {
      this.values.refuse(key);
      this.to.delete(key);
    }
    const told = error instanceof Told;
    this.fault(told ? t("behaviour.failed", { told: error.message }) : t("behaviour.away"));
    if (!told) this.rest = setTimeout(() => this.ask(MANY), AGAIN_MS);
  }

  fault(text) {
    this.by(".bh-fault").textContent = text;
    this.by(".bh-fault").hidden = false;
  }

  unmoved() {
    this.shown = { seq: this.seq, draws: MANY };
    this.by(".bh-fault").hidden = true;
    this.values.show(this.to, []);
    this.told.sums(this.header);
    this.told.differences([t("behaviour.nothing_moved")]);
  }

  paint() {
    this.by(".bh-ghost").hidden = !this.moved;
    this.plots.show({
      x: this.x, outputs: this.header.outputs, settled: this.settled, moved: this.moved, pins: this.pins.all,
    });
    this.readout.show();
    this.plots.place(this.readout.index === null ? null : this.readout.f);
  }

  drawn() {
    document.dispatchEvent(new CustomEvent("ohmbook:drawn", { detail: { ...this.shown, moved: Boolean(this.moved) } }));
  }

  rests(f) {
    if (this.settled) this.width.show(this.asking.url, this.token, f);
  }

  pin() {
    if (this.pins.full) {
      this.fault(t("behaviour.pin_most"));
      return;
    }
    const names = [...this.root.querySelectorAll(".bh-value.moved")].map((one) => {
      const change = one.querySelector(".bh-change").textContent;
      return `${one.querySelector("b").textContent} ${change}`.trim();
    });
    this.pins.add([...this.to], names.join(", ") || t("behaviour.pin_settled"), this.moved ?? this.settled);
  }

  pinsChanged() {
    this.keep();
    if (!this.settled) return;
    this.paint();
    this.changed();
  }

  /** The curves of pinned versions that are not known, such as after a reload. */
  async fetchPins() {
    const one = { token: this.token, exact: this.exact.checked, draws: 0, curves: KINDS, pins: [] };
    await this.pins.fetch((to) => this.asking.fetch({ ...one, to }));
    if (this.pins.all.length) this.paint();
  }
}

for (const root of document.querySelectorAll("[data-behaviour]")) new Behaviour(root);
