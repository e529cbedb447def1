// What is heard of a clip: each channel's level, mute and meter, one alone, or each alone in turn. Remembered per card.

import { Mixer } from "./mixer.js";

const TURN = 3000; // ms that each channel is heard alone
const METER = 50; // ms: meters are drawn at most 20 times a second
const FLOOR = -60; // dB of full scale at the left end of a meter
const FULL = 100; // of a level

/** Speaks up with "change" when something else is heard. */
export class SoundDesk extends EventTarget {
  #video;
  #box;
  #said;
  #key;
  #names;
  #mixer;
  #alone = null; // a channel from 0, or null for all
  #strips; // {level: 0 to 100, muted} of each channel
  #turning = 0;
  #metering = 0;

  /** `names` are the recorder's, for the first channels; `box` is a <details> with #channels in it. */
  constructor(video, channels, names, card, box) {
    super();
    this.#video = video;
    this.#box = box;
    this.#said = box.querySelector("#heard");
    this.#key = `rushlight-listening:${card}`;
    this.#names = [...Array(channels)].map((_, at) => [String(at + 1), names[at]].filter(Boolean).join(" "));
    this.#mixer = new Mixer(video, channels);
    this.#strips = this.#names.map(() => ({ level: FULL, muted: false }));
    this.#recall();
    this.#layOut(box.querySelector("#channels"));
    this.#show();
    video.addEventListener("play", () => (this.#route(), this.#meter()));
    video.addEventListener("pause", () => this.#stopMeter());
    box.addEventListener("toggle", () => (this.#route(), this.#meter()));
  }

  /** The channel that is heard alone, or null. */
  get alone() {
    return this.#alone;
  }

  /** Whether nothing at all is heard of it. */
  get silent() {
    return this.#gains.every((gain) => gain === 0);
  }

  // One that is heard alone is heard although it is muted among the others.
  get #gains() {
    return this.#strips.map(({ level, muted }, channel) => {
      const heard = this.#alone === null ? !muted : this.#alone === channel;
      return heard ? level / FULL : 0;
    });
  }

  get #asUsual() {
    return this.#alone === null && this.#strips.every(({ level, muted }) => level === FULL && !muted);
  }

  #hearAlone(channel) {
    this.#alone = channel;
    this.#changed();
  }

  #turn(on) {
    clearInterval(this.#turning);
    this.#turning = 0;
    if (!on) return;
    this.#turning = setInterval(() => {
      if (!this.#video.paused) this.#hearAlone(((this.#alone ?? -1) + 1) % this.#names.length);
    }, TURN);
    this.#hearAlone(0);
  }

  #changed() {
    this.#remember();
    this.#show();
    this.#route();
    this.dispatchEvent(new Event("change"));
  }

  #route() {
    if (this.#video.paused && !this.#mixer.working) return;
    const left = this.#names.length <= 2 && this.#asUsual && !this.#box.open; // to the browser
    if (left && !this.#mixer.working) return;
    this.#mixer.hear(this.#gains, this.#alone === null && this.#names.length === 2);
  }

  // The page -----------------------------------------------------------------------------------------

  #layOut(box) {
    box.append(button("all", { channel: "all" }, "Hear all channels"));
    if (this.#names.length > 1) box.append(button("each alone in turn", { turn: "yes" }, "Hear each alone in turn, 3 seconds each"));
    this.#names.forEach((name, at) => box.append(this.#strip(name, at)));
    box.addEventListener("click", (event) => {
      const { channel, mute, turn } = event.target.closest("button")?.dataset ?? {};
      if (channel) {
        this.#turn(false);
        this.#hearAlone(channel === "all" || Number(channel) === this.#alone ? null : Number(channel));
      } else if (turn) {
        this.#turn(!this.#turning);
        this.#show();
      } else if (mute) {
        this.#strips[mute].muted = !this.#strips[mute].muted;
        this.#changed();
      }
    });
    box.addEventListener("input", ({ target }) => {
      this.#strips[target.dataset.level].level = Number(target.value);
      this.#changed();
    });
  }

  #strip(name, at) {
    const made = document.createElement("div");
    made.className = "channel";
    const title = Object.assign(document.createElement("span"), { className: "name", textContent: name, title: name });
    const level = Object.assign(document.createElement("input"), { type: "range", min: 0, max: FULL });
    level.dataset.level = at;
    level.setAttribute("aria-label", `Level of ${name}`);
    const meter = Object.assign(document.createElement("span"), { className: "loudness" });
    meter.append(document.createElement("i"));
    made.append(title, button("alone", { channel: at }, `Hear ${name} alone`), button("mute", { mute: at }, `Mute ${name}`), level, meter);
    return made;
  }

  #show() {
    const pressed = (selector, on) => this.#box.querySelector(selector)?.setAttribute("aria-pressed", String(on));
    pressed("[data-channel=all]", this.#alone === null);
    pressed("[data-turn]", this.#turning !== 0);
    this.#strips.forEach(({ level, muted }, at) => {
      pressed(`[data-channel="${at}"]`, this.#alone === at);
      pressed(`[data-mute="${at}"]`, muted);
      this.#box.querySelector(`[data-level="${at}"]`).value = level;
    });
    this.#said.textContent = this.#words;
  }

  get #words() {
    if (this.#alone !== null) return `${this.#names[this.#alone]} alone${this.#turning ? ", in turn" : ""}${this.silent ? ", level 0" : ""}`;
    if (this.silent) return "nothing (skimmed)";
    return this.#asUsual ? "all" : "mixed";
  }

  // Meters -------------------------------------------------------------------------------------------

  // Still while nothing plays, and for those who want nothing to move.
  #meter() {
    this.#stopMeter();
    if (!this.#box.open || this.#video.paused || matchMedia("(prefers-reduced-motion: reduce)").matches) return;
    const bars = [...this.#box.querySelectorAll(".loudness i")];
    this.#metering = setInterval(() => this.#mixer.peaks().forEach((peak, at) => (bars[at].style.width = `${part(peak)}%`)), METER);
  }

  #stopMeter() {
    clearInterval(this.#metering);
    this.#metering = 0;
  }

  // Remembering --------------------------------------------------------------------------------------

  #remember() {
    if (this.#turning) return; // that is for now
    try {
      if (this.#asUsual) localStorage.removeItem(this.#key);
      else localStorage.setItem(this.#key, JSON.stringify({ alone: this.#alone, strips: this.#strips }));
    } catch {
      // this browser keeps nothing
    }
  }

  #recall() {
    try {
      const { alone, strips } = JSON.parse(localStorage.getItem(this.#key)) ?? {};
      if (Number.isInteger(alone) && alone >= 0 && alone < this.#names.length) this.#alone = alone;
      strips?.forEach(({ level, muted }, at) => {
        if (this.#strips[at] && level >= 0 && level <= FULL) this.#strips[at] = { level, muted: muted === true };
      });
    } catch {
      // nothing was kept, or nothing that can be read
    }
  }
}

// How far a meter goes, in per cent.
function part(peak) {
  return peak > 0 ? Math.max(0, Math.min(100, 100 * (1 - (20 * Math.log10(peak)) / FLOOR))) : 0;
}

function button(words, data, label) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "small";
  made.textContent = words;
  made.setAttribute("aria-label", label);
  made.title = label;
  made.setAttribute("aria-pressed", "false");
  Object.assign(made.dataset, data);
  return made;
}
