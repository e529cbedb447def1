// Every few seconds the page says where it is, and hears who else is at this clip and what they marked.

import { call } from "./api.js";

const EVERY = 4000; // ms: with the way there, others' marks are here within five seconds

export class Pulse extends EventTarget {
  #clip;
  #viewing;
  #where;
  #seen;
  #since = null;
  #beating = false;

  /**
   * `where()` gives the frame on the screen, `seen()` how much was seen of the clip: {watched_frames, skimmed_frames}.
   * Dispatches "heard" with {others, selects, stints, seen (null if it is as much), proxied_frames, proxy_state}.
   */
  constructor(clip, viewing, where, seen) {
    super();
    this.#clip = `/api/v1/clips/${clip}/`;
    this.#viewing = viewing;
    this.#where = where;
    this.#seen = seen;
    this.#beat();
    setInterval(() => this.#beat(), EVERY);
    addEventListener("pagehide", () => this.leave());
  }

  /** Say that the page is closed, with a remark for whoever comes next (or none: the last one stays). */
  leave(remark) {
    const body = { viewing: this.#viewing, frame: this.#where(), ...(remark === undefined ? {} : { remark }) };
    return call("POST", `${this.#clip}leave/`, body, { keepalive: true }).catch(() => {});
  }

  // One at a time: of two that overtake each other the second would ask from before the first.
  async #beat() {
    if (this.#beating) return;
    this.#beating = true;
    const body = { viewing: this.#viewing, frame: this.#where(), since: this.#since, ...this.#seen() };
    try {
      const heard = await call("POST", `${this.#clip}pulse/`, body);
      this.#since = heard.now;
      this.dispatchEvent(new CustomEvent("heard", { detail: heard }));
    } catch {
      // Away for now; the outbox says so, and the next beat asks from where this one would have.
    } finally {
      this.#beating = false;
    }
  }
}
