// The clip laid out as lines of film, to be read and marked like a page. Only the lines in view are drawn.

import { gaps } from "./ranges.js";

export const LINE_LENGTHS = [5, 10, 30, 60, 120, 300, 600]; // seconds
const MOST_LINES = 30; // the first length that needs no more is taken
const LINE = 92; // px, as in watch.css
const FILM = { top: 4, height: 45 };
const PEAKS = { top: 51, height: 22 };
const SEEN = { top: 75, height: 6 };
const BAND = { top: 2, height: 71 };

export class Sheet extends EventTarget {
  #box;
  #clip;
  #timebase;
  #perLine;
  #lines = new Map(); // line number -> element
  #pictures = [];
  #peaks = null;
  #state = { selects: [], active: null, watched: [], skimmed: [], frame: 0, draft: null };
  #colours = {};
  #asked = false;

  constructor(box, clip, timebase) {
    super();
    this.#box = box;
    this.#clip = clip;
    this.#timebase = timebase;
    this.#box.append((this.#space = document.createElement("div")));
    this.#space.setAttribute("aria-hidden", "true");
    box.addEventListener("scroll", () => this.#ask());
    box.addEventListener("click", (event) => this.#clicked(event));
    new ResizeObserver(() => this.#redraw()).observe(box);
    document.addEventListener("light-changed", () => this.#redraw());
    this.setLineLength(LINE_LENGTHS.find((seconds) => this.#lineCount(seconds) <= MOST_LINES) ?? LINE_LENGTHS.at(-1));
    this.#load();
  }

  #space;

  get lineLength() {
    return this.#perLineSeconds;
  }

  #perLineSeconds;

  setLineLength(seconds) {
    this.#perLineSeconds = seconds;
    this.#perLine = this.#framesIn(seconds);
    this.#space.style.height = `${this.#lineCount(seconds) * LINE}px`;
    for (const line of this.#lines.values()) line.remove();
    this.#lines.clear();
    this.#redraw();
    this.#follow(true);
  }

  /** Show what has changed of: selects, active (id), watched, skimmed, frame, draft (an in frame or null). */
  show(changes) {
    const line = Math.floor(this.#state.frame / this.#perLine);
    Object.assign(this.#state, changes);
    if (Object.keys(changes).length === 1 && "frame" in changes) {
      this.#draw(line);
      this.#draw(Math.floor(this.#state.frame / this.#perLine));
    } else this.#redraw();
    if ("frame" in changes) this.#follow(line !== Math.floor(this.#state.frame / this.#perLine));
  }

  #framesIn(seconds) {
    return Math.round((seconds * this.#timebase.numerator) / this.#timebase.denominator);
  }

  #lineCount(seconds) {
    return Math.max(1, Math.ceil(this.#clip.frames / this.#framesIn(seconds)));
  }

  #load() {
    (this.#clip.filmstrip?.files ?? []).forEach((url, at) => {
      const picture = new Image();
      picture.addEventListener("load", () => this.#redraw());
      picture.src = url;
      this.#pictures[at] = picture;
    });
    if (this.#clip.peaks) {
      fetch(this.#clip.peaks)
        .then((response) => (response.ok ? response.arrayBuffer() : null))
        .then((bytes) => bytes && ((this.#peaks = new Uint8Array(bytes)), this.#redraw()))
        .catch(() => {}); // the sheet can be read without its audio outline
    }
  }

  #follow(changedLine) {
    if (!changedLine) return;
    const top = Math.floor(this.#state.frame / this.#perLine) * LINE;
    const { scrollTop, clientHeight } = this.#box;
    if (top < scrollTop || top + LINE > scrollTop + clientHeight) this.#box.scrollTop = Math.max(0, top - LINE);
    this.#ask();
  }

  #ask() {
    if (this.#asked) return;
    this.#asked = true;
    requestAnimationFrame(() => {
      this.#asked = false;
      this.#layOut();
    });
  }

  #redraw() {
    const style = getComputedStyle(document.documentElement);
    for (const name of ["ink", "faint", "accent", "watched", "hatch", "pale", "paper", "rule"]) {
      this.#colours[name] = style.getPropertyValue(`--${name}`).trim();
    }
    for (const number of this.#lines.keys()) this.#draw(number);
    this.#ask();
  }

  #layOut() {
    const first = Math.max(0, Math.floor(this.#box.scrollTop / LINE) - 1);
    const last = Math.min(
      this.#lineCount(this.#perLineSeconds) - 1,
      Math.ceil((this.#box.scrollTop + this.#box.clientHeight) / LINE),
    );
    for (const [number, line] of this.#lines) {
      if (number < first || number > last) {
        line.remove();
        this.#lines.delete(number);
      }
    }
    for (let number = first; number <= last; number += 1) {
      if (this.#lines.has(number)) continue;
      const line = document.createElement("div");
      line.className = "line";
      line.style.top = `${number * LINE}px`;
      const label = document.createElement("span");
      label.className = "tc";
      label.textContent = this.#timebase.label(this.#clip.start + number * this.#perLine);
      line.append(label, document.createElement("canvas"));
      line.dataset.line = number;
      this.#lines.set(number, line);
      this.#box.append(line);
      this.#draw(number);
    }
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
    const x = (frame) => ((frame - from) / this.#perLine) * width;
    this.#drawFilm(pen, from, to, x, width);
    this.#drawPeaks(pen, from, to, x);
    this.#drawSeen(pen, from, to, x);
    this.#drawSelects(pen, from, to, x);
    this.#drawNow(pen, from, to, x);
  }

  // Each picture stands for the time it covers; pictures side by side, as many as fit.
  #drawFilm(pen, from, to, x, width) {
    const strip = this.#clip.filmstrip;
    if (!strip?.count) return;
    const wide = (FILM.height * strip.picture_width) / strip.picture_height;
    const framesWide = (wide / width) * this.#perLine;
    for (let frame = from; frame < to; frame += framesWide) {
      const index = Math.min(strip.count - 1, Math.round(frame / strip.every));
      const onSheet = index % (strip.columns * strip.rows);
      const picture = this.#pictures[Math.floor(index / (strip.columns * strip.rows))];
      if (!picture?.complete || !picture.naturalWidth) continue;
      const shown = Math.min(wide, x(to) - x(frame));
      pen.drawImage(
        picture,
        (onSheet % strip.columns) * strip.picture_width,
        Math.floor(onSheet / strip.columns) * strip.picture_height,
        (strip.picture_width * shown) / wide,
        strip.picture_height,
        x(frame),
        FILM.top,
        shown,
        FILM.height,
      );
    }
    // Unread film is pale.
    pen.fillStyle = this.#colours.paper;
    pen.globalAlpha = 0.5;
    for (const [start, end] of gaps([...this.#state.watched, ...this.#state.skimmed], this.#clip.frames)) {
      if (end > from && start < to) {
        pen.fillRect(x(Math.max(start, from)), FILM.top, x(Math.min(end, to)) - x(Math.max(start, from)), FILM.height);
      }
    }
    pen.globalAlpha = 1;
  }

  #drawPeaks(pen, from, to, x) {
    if (!this.#peaks) return;
    const channels = this.#clip.peakChannels;
    pen.fillStyle = this.#colours.faint;
    const step = Math.max(1, (to - from) / Math.max(1, x(to)));
    for (let frame = from; frame < to; frame += step) {
      let loudest = 0;
      for (let at = Math.floor(frame); at < Math.min(frame + step, to); at += 1) {
        for (let channel = 0; channel < channels; channel += 1) {
          loudest = Math.max(loudest, this.#peaks[at * channels + channel] ?? 0);
        }
      }
      const high = (loudest / 255) * PEAKS.height;
      pen.fillRect(x(frame), PEAKS.top + PEAKS.height - high, Math.max(1, x(frame + step) - x(frame) - 0.3), high);
    }
  }

  // Watched is solid, skimmed is hatched, unwatched is an empty line.
  #drawSeen(pen, from, to, x) {
    pen.strokeStyle = this.#colours.hatch;
    pen.strokeRect(0.5, SEEN.top + 0.5, Math.max(0, x(to) - 1), SEEN.height - 1);
    pen.fillStyle = this.#colours.watched;
    for (const [start, end] of this.#state.watched) this.#bar(pen, start, end, from, to, x, SEEN);
    for (const [start, end] of this.#state.skimmed) {
      const [left, right] = [x(Math.max(start, from)), x(Math.min(end, to))];
      pen.fillStyle = this.#colours.hatch;
      for (let at = left; at < right; at += 4) pen.fillRect(at, SEEN.top, Math.min(2, right - at), SEEN.height);
    }
  }

  #bar(pen, start, end, from, to, x, { top, height }) {
    if (end <= from || start >= to) return;
    pen.fillRect(x(Math.max(start, from)), top, x(Math.min(end, to)) - x(Math.max(start, from)), height);
  }

  #drawSelects(pen, from, to, x) {
    for (const select of this.#state.selects) {
      if (select.out_frame <= from || select.in_frame >= to) continue;
      const active = select.id === this.#state.active;
      const left = x(Math.max(select.in_frame, from));
      const right = x(Math.min(select.out_frame, to));
      pen.fillStyle = this.#colours.accent;
      pen.globalAlpha = active ? 0.34 : 0.2;
      pen.fillRect(left, BAND.top, right - left, BAND.height);
      pen.globalAlpha = 1;
      pen.fillRect(left, BAND.top + BAND.height - 3, right - left, active ? 4 : 3);
      if (select.in_frame >= from) pen.fillRect(left, BAND.top, 2, BAND.height);
      if (select.out_frame <= to) pen.fillRect(right - 2, BAND.top, 2, BAND.height);
      this.#drawWords(pen, select, left, right);
    }
  }

  #drawWords(pen, select, left, right) {
    const words = select.tags.join(", ");
    if (!words || right - left < 24) return;
    pen.save();
    pen.beginPath();
    pen.rect(left + 2, PEAKS.top, right - left - 4, PEAKS.height);
    pen.clip();
    pen.font = "600 11px sans-serif";
    pen.lineWidth = 3;
    pen.strokeStyle = this.#colours.paper;
    pen.fillStyle = this.#colours.ink;
    pen.strokeText(words, left + 5, PEAKS.top + 14);
    pen.fillText(words, left + 5, PEAKS.top + 14);
    pen.restore();
    pen.lineWidth = 1;
  }

  #drawNow(pen, from, to, x) {
    const { frame, draft } = this.#state;
    if (draft !== null && draft >= from && draft < to) {
      pen.fillStyle = this.#colours.accent;
      pen.fillRect(x(draft), 0, 2, LINE);
    }
    if (frame >= from && frame < to) {
      pen.fillStyle = this.#colours.ink;
      pen.fillRect(x(frame), 0, 2, SEEN.top + SEEN.height + 4);
    }
  }

  #clicked(event) {
    const line = event.target.closest?.(".line");
    if (!line || event.target.tagName !== "CANVAS") return;
    const { left, width } = event.target.getBoundingClientRect();
    const frame = Math.floor((Number(line.dataset.line) + (event.clientX - left) / width) * this.#perLine);
    this.dispatchEvent(new CustomEvent("go", { detail: Math.max(0, Math.min(frame, this.#clip.frames - 1)) }));
  }
}
