// The clip laid out as lines of film, to be read and marked like a page. Only the lines in view are drawn.

import { Film } from "./film.js";
import { loadLanes, wordsAt } from "./lanes.js";
import { Outline } from "./outline.js";
import { SheetHand } from "./sheet-hand.js";
import { drawLine, LINE } from "./sheet-line.js";

export const LINE_LENGTHS = [5, 10, 30, 60, 120, 300, 600]; // seconds
const MOST_LINES = 30; // the first length that needs no more is taken
const COLOURS = ["ink", "faint", "accent", "watched", "hatch", "pale", "paper", "rule"];

/** Dispatches "go" (a frame), "mark" ([in, out)), "trim" ({id, which, frame}) and "lines" when they got another length. */
export class Sheet extends EventTarget {
  #box;
  #space = document.createElement("div");
  #clip;
  #timebase;
  #perLine; // frames
  #perLineSeconds;
  #lines = new Map(); // line number -> element
  #holds; // what the clip is made of, as sheet-line.js draws it
  #state = {
    selects: [], active: null, watched: [], skimmed: [], frame: 0, draft: null, reach: Infinity,
    notes: [], others: [], drag: null,
  };
  #trimming = null;
  #colours = {};
  #asked = false;
  #stale = new Set(); // lines to be drawn again

  constructor(box, clip, timebase) {
    super();
    this.#box = box;
    this.#clip = clip;
    this.#timebase = timebase;
    this.#holds = { frames: clip.frames, film: new Film(clip.filmstrip, () => this.#redraw()), outline: null, lanes: null, channel: null };
    this.#space.setAttribute("aria-hidden", "true");
    box.append(this.#space);
    box.addEventListener("scroll", () => this.#ask());
    box.addEventListener("pointermove", (event) => this.#pointed(event));
    new ResizeObserver(() => this.#redraw()).observe(box);
    document.addEventListener("light-changed", () => this.#redraw());
    this.#listenToHand(new SheetHand(box, (event) => this.#frameUnder(event), (event, near) => this.#edgeUnder(event, near)));
    this.setLineLength(LINE_LENGTHS.find((seconds) => this.#lineCount(seconds) <= MOST_LINES) ?? LINE_LENGTHS.at(-1));
    this.#load(clip);
  }

  /** Take what has been made of the clip meanwhile: {filmstrip, peaks, lanes} as the page's facts have them. */
  take(made) {
    if (made.filmstrip) this.#holds.film = new Film(made.filmstrip, () => this.#redraw());
    this.#load(made);
  }

  /** What `lanes.json` says; null until it is there, and for a clip that has none. */
  get lanes() {
    return this.#holds.lanes;
  }

  get colours() {
    return this.#colours;
  }

  get lineLength() {
    return this.#perLineSeconds;
  }

  setLineLength(seconds) {
    this.#perLineSeconds = seconds;
    this.#perLine = this.#framesIn(seconds);
    this.#space.style.height = `${this.#lineCount(seconds) * LINE}px`;
    for (const line of this.#lines.values()) line.remove();
    this.#lines.clear();
    this.#redraw();
    this.#follow(true);
    this.dispatchEvent(new Event("lines"));
  }

  /** The outline of one channel (from 0) alone, or of all together (null). */
  listenTo(channel) {
    this.#holds.channel = channel;
    this.#redraw();
  }

  /**
   * Show what has changed of: selects, active (id), watched, skimmed, frame, draft (an open mark or null), reach (how
   * many frames can be watched), notes ({frame, text}), others ({person, frame}).
   */
  show(changes) {
    const line = this.#lineOf(this.#state.frame);
    Object.assign(this.#state, changes);
    const now = this.#lineOf(this.#state.frame);
    const jumped = this.#state.draft && Math.abs(now - line) > 1; // its band has changed on all lines between
    if (Object.keys(changes).length === 1 && "frame" in changes && !jumped) this.#redraw([line, now]);
    else this.#redraw();
    if ("frame" in changes) this.#follow(line !== now);
  }

  #framesIn(seconds) {
    return Math.round((seconds * this.#timebase.numerator) / this.#timebase.denominator);
  }

  #lineCount(seconds) {
    return Math.max(1, Math.ceil(this.#clip.frames / this.#framesIn(seconds)));
  }

  #lineOf(frame) {
    return Math.floor(frame / this.#perLine);
  }

  #load({ lanes: lanesUrl, peaks }) {
    loadLanes(lanesUrl).then((lanes) => ((this.#holds.lanes = lanes), this.#redraw()));
    if (!peaks) return;
    fetch(peaks)
      .then((response) => (response.ok ? response.arrayBuffer() : null))
      .then((bytes) => {
        if (bytes) this.#holds.outline = new Outline(new Uint8Array(bytes), this.#clip.peakChannels);
        this.#redraw();
      })
      .catch(() => {}); // the sheet can be read without its audio outline
  }

  #follow(changedLine) {
    if (!changedLine || this.#state.drag || this.#trimming) return;
    const top = this.#lineOf(this.#state.frame) * LINE;
    const { scrollTop, clientHeight } = this.#box;
    if (top < scrollTop || top + LINE > scrollTop + clientHeight) this.#box.scrollTop = Math.max(0, top - LINE);
    this.#ask();
  }

  // Drawing ------------------------------------------------------------------------------------------

  #redraw(numbers = this.#lines.keys()) {
    for (const number of numbers) this.#stale.add(number);
    this.#ask();
  }

  // However much changes at once, it is drawn once.
  #ask() {
    if (this.#asked) return;
    this.#asked = true;
    requestAnimationFrame(() => {
      this.#asked = false;
      const style = getComputedStyle(document.documentElement);
      for (const name of COLOURS) this.#colours[name] = style.getPropertyValue(`--${name}`).trim();
      this.#layOut();
      for (const number of this.#stale) this.#draw(number);
      this.#stale.clear();
    });
  }

  #layOut() {
    const first = Math.max(0, Math.floor(this.#box.scrollTop / LINE) - 1);
    const last = Math.ceil((this.#box.scrollTop + this.#box.clientHeight) / LINE);
    for (const [number, line] of this.#lines) {
      if (number < first || number > last) {
        line.remove();
        this.#lines.delete(number);
      }
    }
    for (let number = first; number <= Math.min(last, this.#lineCount(this.#perLineSeconds) - 1); number += 1) {
      if (!this.#lines.has(number)) this.#addLine(number);
    }
  }

  #addLine(number) {
    const line = document.createElement("div");
    line.className = "line";
    line.style.top = `${number * LINE}px`;
    line.dataset.line = number;
    const label = document.createElement("span");
    label.className = "tc";
    label.textContent = this.#timebase.label(this.#clip.start + number * this.#perLine);
    line.append(label, document.createElement("canvas"));
    this.#lines.set(number, line);
    this.#box.append(line);
    this.#stale.add(number);
  }

  #draw(number) {
    const canvas = this.#lines.get(number)?.querySelector("canvas");
    if (!canvas) return;
    const scale = devicePixelRatio || 1;
    const [width, height] = [canvas.clientWidth, canvas.clientHeight];
    if (canvas.width !== Math.round(width * scale)) {
      canvas.width = Math.round(width * scale);
      canvas.height = Math.round(height * scale);
    }
    const pen = canvas.getContext("2d");
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.clearRect(0, 0, width, height);
    const from = number * this.#perLine;
    const to = Math.min(from + this.#perLine, this.#clip.frames);
    drawLine(pen, { from, to, room: this.#perLine, width }, this.#holds, this.#drawn(), this.#colours);
  }

  // What is drawn: the select whose edge is being dragged as it would become.
  #drawn() {
    if (!this.#trimming) return this.#state;
    const { id, which, frame } = this.#trimming;
    return { ...this.#state, selects: this.#state.selects.map((s) => (s.id === id ? { ...s, [which]: frame } : s)) };
  }

  // The hand -----------------------------------------------------------------------------------------

  #listenToHand(hand) {
    hand.addEventListener("dragging", ({ detail }) => this.show({ drag: detail }));
    hand.addEventListener("trimming", ({ detail }) => ((this.#trimming = detail), this.#redraw()));
    for (const name of ["go", "mark", "trim"]) {
      hand.addEventListener(name, ({ detail }) => this.dispatchEvent(new CustomEvent(name, { detail })));
    }
  }

  // The frame under the pointer, or null beside the film; while it is held, the nearest there is.
  #frameUnder(event) {
    const held = this.#box.hasPointerCapture?.(event.pointerId);
    if (!held && event.target.tagName !== "CANVAS") return null;
    const any = this.#lines.values().next().value.querySelector("canvas");
    const { left, width } = any.getBoundingClientRect();
    const within = event.clientY - this.#box.getBoundingClientRect().top - this.#box.clientTop + this.#box.scrollTop;
    const across = Math.max(0, Math.min((event.clientX - left) / width, 1 - 1e-9));
    const frame = Math.floor((Math.floor(within / LINE) + across) * this.#perLine);
    return Math.max(0, Math.min(frame, this.#clip.frames - 1));
  }

  // The edge of a select within `near` pixels of the pointer; of several the chosen select's.
  #edgeUnder(event, near) {
    const frame = this.#frameUnder(event);
    if (frame === null) return null;
    const reach = (near * this.#perLine) / event.target.clientWidth;
    const order = [...this.#state.selects].sort((a, b) => (b.id === this.#state.active) - (a.id === this.#state.active));
    for (const select of order) {
      for (const which of ["in_frame", "out_frame"]) {
        if (Math.abs(select[which] - frame) <= reach) return { id: select.id, which, frame: select[which] };
      }
    }
    return null;
  }

  // What the lanes and the field notes say there, for whoever does not know their signs yet.
  #pointed(event) {
    if (event.target.tagName !== "CANVAS") return;
    const frame = this.#frameUnder(event);
    const near = (4 * this.#perLine) / event.target.clientWidth;
    const notes = this.#state.notes.filter((note) => Math.abs(note.frame - frame) <= near).map((note) => note.text);
    const lanes = this.#holds.lanes ? wordsAt(this.#holds.lanes, frame, near) : "";
    const words = [...notes, lanes].filter(Boolean).join("\n");
    if (event.target.title !== words) event.target.title = words;
  }
}
