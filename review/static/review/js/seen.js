// What was seen of the clip by anybody, as the server counts it.

import { call } from "./api.js";
import { union } from "./ranges.js";

/** Speaks up with "change". */
export class Seen extends EventTarget {
  watched = []; // ranges [in, out) of frames
  skimmed = [];
  mine = []; // of those, what this person saw, watched or skimmed
  sums = {}; // {watched_frames, skimmed_frames} of anybody, once they are known
  #facts;
  #words;

  /** `words` is the element that says how much. */
  constructor(facts, words) {
    super();
    this.#facts = facts;
    this.#words = words;
  }

  /** Whether the server has said it yet. */
  get known() {
    return "watched_frames" in this.sums;
  }

  async send(batch, spans, keepalive) {
    const { api, viewing } = this.#facts;
    this.hear(await call("POST", api.watched, { viewing, batch, spans }, { keepalive }));
  }

  async look() {
    this.hear(await call("GET", this.#facts.api.watched));
  }

  /** Take what the server says: what `watched/` of the clip's address gives. */
  hear(answer) {
    this.watched = answer.watched;
    this.skimmed = answer.skimmed;
    this.mine = union([...answer.mine_watched, ...answer.mine_skimmed]);
    this.sums = { watched_frames: answer.watched_frames, skimmed_frames: answer.skimmed_frames };
    const part = (frames) => `${Math.floor((100 * frames) / this.#facts.frames)} %`;
    const skimmed = answer.skimmed_frames ? `, ${part(answer.skimmed_frames)} skimmed` : "";
    this.#words.textContent = `${part(answer.watched_frames)} watched${skimmed}`;
    this.dispatchEvent(new Event("change"));
  }
}
