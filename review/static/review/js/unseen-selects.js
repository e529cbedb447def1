// A second look is worth most when it does not know the first one's finds: what others marked in a stretch that this
// person holds for one is left out until they have watched it, unless they ask for it.

import { gaps, intersect } from "./ranges.js";

export class UnseenSelects {
  #facts;
  #seen;
  #marks;
  #line;
  #asked = false;
  #left = []; // ranges of frames

  /** `seen` says what this person has seen; `line`, with its button, that something is left out of `marks`. */
  constructor({ facts, seen, marks, line }) {
    this.#facts = facts;
    this.#seen = seen;
    this.#marks = marks;
    this.#line = line;
    seen.addEventListener("change", () => this.look());
    line.querySelector("button").addEventListener("click", () => {
      this.#asked = true;
      this.look();
    });
    this.look();
  }

  /** What the person holds, or has seen, may have changed. */
  look() {
    const left = this.#asked ? [] : this.#stretches();
    this.#line.hidden = !left.length || !this.#seen.known;
    if (JSON.stringify(left) === JSON.stringify(this.#left)) return;
    this.#left = left;
    this.#marks.leaveOut((select) => this.#hides(select));
  }

  // A stretch counts as a whole: each find of the other that comes to light would colour what is marked after it.
  #stretches() {
    const { stints, person, frames } = this.#facts;
    const unseen = gaps(this.#seen.mine, frames);
    return stints
      .filter(({ logger, second }) => second && logger === person)
      .map(({ in_frame, out_frame }) => [in_frame, out_frame])
      .filter((stretch) => intersect(unseen, [stretch]).length);
  }

  #hides({ logger, in_frame, out_frame }) {
    return logger !== this.#facts.person && this.#left.some(([start, end]) => in_frame < end && start < out_frame);
  }
}
