// A select of a list played on the list's page, as it is cut there, without its handles. It counts as watching.

import { timebaseOf } from "./list-totals.js";
import { Reel } from "./select-reel.js";
import { Watched } from "./select-watch.js";

export class ListPlayer {
  #dialog;
  #reel;

  constructor(dialog) {
    this.#dialog = dialog;
    this.#reel = new Reel(dialog.querySelector(".screen"));
    new Watched(document.body.dataset.person, this.#reel);
    const play = this.#part("play");
    this.#reel.addEventListener("frame", () => (this.#part("at").textContent = this.#reel.label));
    this.#reel.addEventListener("change", () => (play.textContent = this.#reel.playing ? "Pause" : "Play"));
    this.#reel.addEventListener("trouble", ({ detail: words }) => (this.#part("said").textContent = words));
    play.addEventListener("click", () => this.#reel.toggle());
    dialog.querySelector(".screen").addEventListener("click", () => this.#reel.toggle());
    dialog.addEventListener("close", () => this.#reel.pause());
  }

  /** Show it and play it. */
  async open(row) {
    this.#part("what").textContent = row.querySelector("th a").innerText.replace("\n", " ");
    this.#part("at").textContent = "";
    this.#part("said").textContent = "";
    this.#dialog.showModal();
    this.#part("play").focus();
    if ((await this.#reel.show(...playable(row))) && this.#dialog.open) this.#reel.play();
  }

  #part(name) {
    return this.#dialog.querySelector(`[data-${name}]`);
  }
}

// What a reel takes: the select with its clip, and what is played of it.
function playable(row) {
  const { clip, proxy, rate, start, clipFrames } = row.dataset;
  const { numerator, denominator, drop } = timebaseOf(rate);
  const stretch = { in: Number(row.dataset.in), out: Number(row.dataset.out) };
  const facts = { clip, proxy, rate: [numerator, denominator], drop, start: Number(start), reach: Number(clipFrames) };
  return [{ ...facts, clip_name: "this clip", in_frame: stretch.in, out_frame: stretch.out }, stretch];
}
