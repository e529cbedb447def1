// The same moment on the other cameras: found by its time, and played in the select's place for as long as it lasts.

import { call } from "./api.js";

const AFTER = 350; // ms: not for every row on the way

/** Speaks up with "change": `words` says which there are. */
export class Angles extends EventTarget {
  #row = null;
  #found = [];
  #at = -1; // which of them is on the screen; -1 for the select itself
  #timer = 0;
  #asked = null;

  /** Look for the angles of another row. */
  show(row) {
    this.#row = row;
    this.#found = [];
    this.#at = -1;
    this.#asked = null;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#look().catch(() => {}), AFTER);
    this.dispatchEvent(new Event("change"));
  }

  get found() {
    return this.#found;
  }

  get words() {
    if (!this.#found.length) return "";
    const names = this.#found.map(({ camera, card, kind }, at) => {
      const name = `${camera || card}${kind === "sound" ? " sound" : ""}`;
      return at === this.#at ? `[${name}]` : name;
    });
    return `Other angles of this moment: ${names.join(", ")}`;
  }

  /** The next of them (1) or the one before, and the select itself again after the last: {row, stretch}; null if none. */
  async turn(direction) {
    await this.#look();
    if (!this.#found.length) return null;
    this.#at = ((this.#at + 1 + direction + this.#found.length + 1) % (this.#found.length + 1)) - 1;
    this.dispatchEvent(new Event("change"));
    return this.#at < 0 ? { row: this.#row, stretch: undefined } : this.#playing(this.#found[this.#at]);
  }

  #look() {
    clearTimeout(this.#timer);
    return (this.#asked ??= this.#ask(this.#row));
  }

  async #ask(row) {
    const found = await call("GET", `/api/v1/clips/${row.clip}/angles/?frame=${row.in_frame}`);
    if (row !== this.#row) return;
    this.#found = found.sort((a, b) => `${a.camera}${a.card}`.localeCompare(`${b.camera}${b.card}`));
    this.dispatchEvent(new Event("change"));
  }

  // As a row that can be played; it is no select, so nothing can be marked on it.
  async #playing(angle) {
    const clip = await call("GET", `/api/v1/clips/${angle.clip}/`);
    const seconds = ((this.#row.out_frame - this.#row.in_frame) * this.#row.rate[1]) / this.#row.rate[0];
    const length = Math.max(1, Math.round((seconds * clip.rate_numerator) / clip.rate_denominator));
    const reach = clip.proxy_state === "ready" ? clip.frames : clip.proxied_frames;
    const [start, end] = [angle.in_frame, Math.min(reach, angle.in_frame + length)];
    const row = {
      ...{ id: null, clip: clip.id, clip_name: clip.name, card: clip.card, camera: angle.camera, proxy: clip.proxy, reach },
      ...{ in_frame: start, out_frame: end, clipFrames: clip.frames, start: clip.start_frame, drop: clip.drop },
      rate: [clip.rate_numerator, clip.rate_denominator],
    };
    return { row, stretch: { in: start, out: Math.max(start + 1, end) } };
  }
}
