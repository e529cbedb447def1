// What is sent when a list is changed: one change after another, each with the version that it was made on.

import { call } from "./api.js";

/** Speaks up with "done" (the answer, when nothing more waits), "refused" (an ApiError; nothing is lost, it can be sent
 *  again or left) and "left" when what was refused is left. */
export class Edits extends EventTarget {
  #version;
  #waiting = [];
  #busy = false;
  #held = false;

  constructor(version) {
    super();
    this.#version = version;
  }

  get idle() {
    return !this.#busy && !this.#waiting.length;
  }

  /** A change as { method, url, body }; the version is put in when it is its turn. */
  send(change) {
    this.#waiting.push(change);
    this.#next();
  }

  /** Send what was refused again, on the list as it is now if somebody else changed it. */
  again() {
    this.#held = false;
    this.#next();
  }

  /** Give up what was refused, and what was done after it. */
  leave() {
    this.#waiting = [];
    this.#held = false;
    this.dispatchEvent(new Event("left"));
  }

  /** The page was drawn again, at this version. */
  drawn(version) {
    if (this.idle) this.#version = version;
  }

  async #next() {
    if (this.#busy || this.#held || !this.#waiting.length) return;
    this.#busy = true;
    const { method, url, body } = this.#waiting[0];
    try {
      const answer = await call(method, url, { ...body, version: this.#version });
      this.#version = answer.version;
      this.#waiting.shift();
      this.#busy = false;
      if (!this.#waiting.length) this.dispatchEvent(new CustomEvent("done", { detail: answer }));
    } catch (problem) {
      this.#busy = false;
      this.#held = true;
      if (problem.status === 409) this.#version = problem.body.current.version;
      this.dispatchEvent(new CustomEvent("refused", { detail: problem }));
    }
    this.#next();
  }
}
