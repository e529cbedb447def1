// One video element that holds one stretch of a clip: brought to its first frame, played to its last.

import { Player } from "./player.js";
import { Timebase } from "./timecode.js";

const READY = 10_000; // ms until a picture that does not come is given up

/** What is to be played of a select: frames [in, out) with `handles` seconds more on both sides, as far as there are. */
export function stretchOf(row, handles = 0) {
  const more = Math.round((handles * row.rate[0]) / row.rate[1]);
  return { in: Math.max(0, row.in_frame - more), out: Math.min(row.reach, row.out_frame + more) };
}

/** Whether there is anything of a select that can be played by now. */
export function playable(row) {
  return Boolean(row.proxy) && row.reach > row.in_frame;
}

export class Deck {
  /** `row` is a select with its clip's `proxy`, `rate`, `drop`, `start` and `reach`; `stretch` is {in, out}. */
  constructor(row, stretch, muted) {
    this.row = row;
    this.stretch = stretch;
    this.timebase = new Timebase(...row.rate, row.drop);
    this.video = Object.assign(document.createElement("video"), { preload: "auto", playsInline: true, tabIndex: -1, muted });
    this.player = new Player(this.video, this.timebase, row.reach);
    this.ready = this.#bring();
  }

  /** Seconds by the player's clock until its last frame has been on the screen for as long as a frame lasts. */
  get left() {
    return (this.stretch.out * this.timebase.denominator) / this.timebase.numerator - this.video.currentTime;
  }

  label(frame) {
    return this.timebase.label(this.row.start + frame);
  }

  /** Take it off the screen, and its file out of memory. */
  drop() {
    this.video.pause();
    this.video.removeAttribute("src");
    this.video.load();
    this.video.remove();
  }

  // Resolves when its first frame can be shown at once; rejects where the file cannot be played.
  #bring() {
    return new Promise((resolve, reject) => {
      const failed = () => reject(new Error(`The proxy of ${this.row.clip_name} cannot be played.`));
      this.video.addEventListener("error", failed, { once: true });
      this.player.addEventListener("settled", () => resolve(this), { once: true });
      this.video.addEventListener("loadeddata", () => this.player.seek(this.stretch.in), { once: true });
      setTimeout(failed, READY);
      this.video.src = this.row.proxy;
    });
  }
}
