/** Where the width comes from: for each curve a strip of its parts' shares at the reading line. */
import { ask } from "../api.js";
import { t } from "../words.js";
import { hz, set } from "./numbers.js";

const ROOM = 0.055;

export class Width {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.title = root.querySelector(".bh-width-title");
    this.place = root.querySelector(".bh-widths");
    this.wanted = null;
    this.busy = false;
  }

  /** Show it for a frequency. @param {string} url @param {string} token @param {number} f */
  async show(url, token, f) {
    this.wanted = { url, token, f };
    if (this.busy) return;
    this.busy = true;
    try {
      while (this.wanted) {
        const now = this.wanted;
        this.wanted = null;
        const found = await ask(`${now.url}/width?token=${now.token}&at=${now.f}`);
        this.draw(found.widths, now.f);
      }
    } catch {
      /* the strip stays as it was; the next rest of the line asks again */
    } finally {
      this.busy = false;
    }
  }

  draw(widths, f) {
    this.title.textContent = t("behaviour.width_at", { f: hz(f) });
    if (!widths.length) {
      this.place.textContent = t("behaviour.width_none");
      return;
    }
    this.place.replaceChildren(...widths.map((one) => this.strip(one)));
  }

  strip({ whose, half, parts, rest }) {
    const made = document.createElement("div");
    made.className = "bh-strip-row";
    const name = document.createElement("span");
    name.className = "bh-strip-name";
    name.textContent = whose === "input" ? t("behaviour.input") : whose;
    const size = document.createElement("span");
    size.className = "q bh-strip-half";
    size.textContent = `± ${half}`;
    const strip = document.createElement("ul");
    strip.className = "bh-strip";
    const all = rest ? [...parts, { part: t("behaviour.width_rest"), share: rest, text: `${Math.round(rest * 100)} %` }] : parts;
    const sum = all.reduce((total, one) => total + Math.abs(one.share), 0);
    for (const one of all) strip.append(this.piece(one, Math.abs(one.share) / sum));
    made.append(name, size, strip);
    return made;
  }

  piece({ part, share, text }, room) {
    const made = document.createElement("li");
    made.style.flexGrow = String(room);
    if (share < 0) made.className = "against";
    const said = share < 0 ? `${part} ${set(text)} ${t("behaviour.width_against")}` : `${part} ${text}`;
    made.title = said;
    const seen = document.createElement("span");
    seen.setAttribute("aria-hidden", "true");
    seen.textContent = room > ROOM * 2 ? `${part} ${set(text)}` : room > ROOM ? part : "";
    const heard = document.createElement("span");
    heard.className = "hidden";
    heard.textContent = said;
    made.append(seen, heard);
    return made;
  }
}
