// Trimming a select in its list, with the pictures of its first and last frame.

import { timebaseOf } from "./list-totals.js";
import { NoSuchFrame, typedFrame } from "./typed.js";

/** The dialog; `save` is called with a row, and its in and out, or nulls for as it was marked. */
export class Trimmer {
  #dialog;
  #save;
  #row = null;
  #timebase = null;
  #clip = null; // start and frames
  #ends = { in: 0, out: 0 };

  constructor(dialog, save) {
    this.#dialog = dialog;
    this.#save = save;
    dialog.addEventListener("click", (event) => {
      const { end, by } = event.target.dataset;
      if (end) this.#nudge(end, Number(by));
      if ("asMarked" in event.target.dataset) this.#set(...this.#marked);
    });
    dialog.addEventListener("keydown", (event) => this.#key(event));
    dialog.addEventListener("change", (event) => this.#typed(event.target));
    dialog.querySelector("form").addEventListener("submit", (event) => this.#close(event));
  }

  open(row) {
    this.#row = row;
    const { rate, start, clipFrames, proxy } = row.dataset;
    const what = row.querySelector("th a").innerText.replace("\n", " ");
    this.#timebase = timebaseOf(rate);
    this.#clip = { start: Number(start), frames: Number(clipFrames) };
    this.#part("what").textContent = `${what}${proxy ? "" : ". It has no light copy yet: trim it by its timecode."}`;
    for (const video of this.#dialog.querySelectorAll("video")) {
      video.hidden = !proxy;
      if (proxy && video.getAttribute("src") !== proxy) video.src = proxy;
    }
    this.#set(Number(row.dataset.in), Number(row.dataset.out));
    this.#dialog.showModal();
    this.#field("in").select();
  }

  get #marked() {
    return this.#row.dataset.marked.split(",").map(Number);
  }

  #part(name) {
    return this.#dialog.querySelector(`[data-${name}]`);
  }

  #field(end) {
    return this.#dialog.querySelector(`input[name=${end}]`);
  }

  #set(inFrame, outFrame) {
    this.#ends = { in: inFrame, out: outFrame };
    this.#refuse("");
    for (const end of ["in", "out"]) {
      this.#field(end).value = this.#timebase.label(this.#clip.start + this.#ends[end]);
      const video = this.#dialog.querySelector(`[data-picture=${end}]`);
      if (!video.hidden) video.currentTime = this.#timebase.within(end === "in" ? inFrame : outFrame - 1);
    }
    const frames = outFrame - inFrame;
    this.#part("length").textContent = `${this.#timebase.label(frames)}, ${frames} frames`;
  }

  #nudge(end, by) {
    const { in: first, out: last } = this.#ends;
    if (end === "in") this.#set(Math.min(Math.max(0, first + by), last - 1), last);
    else this.#set(first, Math.max(Math.min(this.#clip.frames, last + by), first + 1));
  }

  #key(event) {
    const end = event.target.name;
    if (!["in", "out"].includes(end)) return;
    if (event.key === "Enter") {
      if (!this.#typed(event.target)) event.preventDefault();
      return;
    }
    if (!["ArrowUp", "ArrowDown"].includes(event.key)) return;
    event.preventDefault();
    this.#nudge(end, (event.key === "ArrowUp" ? 1 : -1) * (event.shiftKey ? 10 : 1));
  }

  // Whether what stands in a field could be taken.
  #typed(field) {
    const end = field.name;
    if (!["in", "out"].includes(end)) return true;
    try {
      // The out is the frame after the last, so it may be one past the clip.
      const clip = { start: this.#clip.start, frames: this.#clip.frames + (end === "out" ? 1 : 0) };
      const ends = { ...this.#ends, [end]: typedFrame(field.value, this.#ends[end], clip, this.#timebase) };
      if (ends.in >= ends.out) throw new NoSuchFrame("The out must come after the in.");
      this.#set(ends.in, ends.out);
      return true;
    } catch (problem) {
      if (!(problem instanceof NoSuchFrame)) throw problem;
      this.#refuse(problem.message);
      return false;
    }
  }

  #refuse(words) {
    const said = this.#part("refusal");
    said.textContent = words;
    said.hidden = !words;
  }

  #close(event) {
    if (event.submitter?.value === "cancel") return;
    if (!this.#part("refusal").hidden) return event.preventDefault();
    const [first, last] = this.#marked;
    const asMarked = this.#ends.in === first && this.#ends.out === last;
    this.#save(this.#row, asMarked ? null : this.#ends.in, asMarked ? null : this.#ends.out);
  }
}
