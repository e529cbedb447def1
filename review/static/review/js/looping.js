// Going round and round a select, until it is let go of or the person goes elsewhere.

/** Speaks up with "change" when it begins or ends, and with "words" (detail) when something must be said. */
export class Loop extends EventTarget {
  #player;
  #chosen;
  #on = false;

  /** `chosen()` gives the select that is worked on, or undefined. */
  constructor(player, chosen) {
    super();
    this.#player = player;
    this.#chosen = chosen;
    player.addEventListener("frame", ({ detail: { frame } }) => this.#shown(frame));
    player.addEventListener("change", () => player.ended && this.#again());
  }

  get on() {
    return this.#on;
  }

  toggle() {
    if (this.#on) return this.#turn(false);
    const select = this.#chosen();
    if (!select) return this.dispatchEvent(new CustomEvent("words", { detail: "Choose a select first: it is played round and round." }));
    this.#turn(true);
    this.#player.seek(select.in_frame);
    this.#player.play();
  }

  /** The person goes elsewhere: no more going round. */
  stop() {
    if (this.#on) this.#turn(false);
  }

  #turn(on) {
    this.#on = on;
    if (on) this.#lookAhead();
    this.dispatchEvent(new Event("change"));
  }

  // A frame's callback comes after its picture: by then the next one may be on the screen. So the clock is read at
  // every refresh, and the turn is taken before the first frame that is not the select's.
  #lookAhead() {
    if (!this.#on) return;
    const select = this.#chosen();
    if (select && this.#player.speed > 0 && this.#player.coming >= select.out_frame) this.#player.seek(select.in_frame);
    requestAnimationFrame(() => this.#lookAhead());
  }

  // Where the clock was not read in time, and going backwards out of it.
  #shown(frame) {
    if (!this.#on) return;
    const select = this.#chosen();
    if (!select) this.#turn(false);
    else if (this.#player.speed > 0 && frame >= select.out_frame) this.#player.seek(select.in_frame);
  }

  // A select that lasts to the clip's end: there the browser stops by itself.
  #again() {
    const select = this.#on && this.#chosen();
    if (!select) return;
    this.#player.seek(select.in_frame);
    this.#player.play();
  }
}
