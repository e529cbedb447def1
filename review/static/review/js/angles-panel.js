// Which other cameras and sound were rolling at the moment on the screen, as small pictures; and the way there.

import { call } from "./api.js";

const AFTER = 350; // ms: not for every frame on the way
const BETWEEN = 2500; // ms between two questions while it plays
const [WIDTH, HEIGHT] = [96, 54]; // px, as in watch.css

/** Dispatches "go" (an address). */
export class AnglesPanel extends EventTarget {
  #box;
  #clip;
  #found = [];
  #frame = null;
  #timer = 0;
  #asking = false;

  /** `clip` is {clip, camera, card}. */
  constructor(box, clip) {
    super();
    this.#box = box;
    this.#clip = clip;
    box.addEventListener("click", (event) => {
      const { clip: id } = event.target.closest("button")?.dataset ?? {};
      const angle = this.#found.find((each) => String(each.clip) === id);
      if (angle) this.#exact().then((found) => this.#go(found.find((each) => each.clip === angle.clip) ?? angle));
    });
  }

  /** The frame on the screen is this one. */
  show(frame) {
    if (frame === this.#frame) return;
    this.#frame = frame;
    if (!this.#timer) this.#timer = setTimeout(() => this.#ask(), AFTER);
  }

  /** The angles of the moment, as the server names them; `of` is the frame here. */
  get found() {
    return this.#found;
  }

  /** Ask again: a clock was set. */
  again() {
    clearTimeout(this.#timer);
    return this.#ask();
  }

  /** To the same moment on the next camera (1) or the one before (-1). Resolves to false if nothing else was rolling. */
  async hop(direction) {
    const found = await this.#exact();
    if (!found.length) return false;
    const order = [...found].sort((a, b) => name(a).localeCompare(name(b)));
    const after = order.findIndex((angle) => name(angle) > name(this.#clip));
    const first = after < 0 ? order.length : after;
    this.#go(order[(direction > 0 ? first : first - 1 + order.length) % order.length]);
    return true;
  }

  #go(angle) {
    this.dispatchEvent(new CustomEvent("go", { detail: `/clips/${angle.clip}/?frame=${angle.in_frame}` }));
  }

  // The angles of the very frame on the screen; those shown, if the server is away.
  #exact() {
    return this.#look(this.#frame ?? 0).catch(() => this.#found);
  }

  async #look(frame) {
    const found = await call("GET", `/api/v1/clips/${this.#clip.clip}/angles/?frame=${frame}`);
    return found.map((angle) => ({ ...angle, of: frame }));
  }

  async #ask() {
    this.#timer = 0;
    if (this.#asking || this.#frame === null) return;
    const frame = this.#frame;
    this.#asking = true;
    try {
      this.#found = await this.#look(frame);
      this.#draw();
    } catch {
      // the panel keeps what it showed
    } finally {
      this.#asking = false;
    }
    if (frame !== this.#frame && !this.#timer) this.#timer = setTimeout(() => this.#ask(), BETWEEN);
  }

  // Buttons that are there stay, so that a focus on one of them is not lost while it plays.
  #draw() {
    const there = [...this.#box.querySelectorAll("button")];
    if (!there.length || there.map(({ dataset }) => dataset.clip).join() !== this.#found.map(({ clip }) => clip).join()) {
      const held = document.activeElement?.dataset.clip;
      this.#box.replaceChildren(...(this.#found.length ? this.#found.map(button) : [nothing()]));
      if (held) this.#box.querySelector(`[data-clip="${held}"]`)?.focus();
    }
    this.#found.forEach((angle, at) => showMoment(this.#box.children[at], angle));
  }
}

function name({ camera, card }) {
  return `${camera}${card}`;
}

function button(angle) {
  const made = document.createElement("button");
  made.type = "button";
  made.dataset.clip = angle.clip;
  const picture = document.createElement("span");
  picture.className = "small-picture";
  const words = document.createElement("span");
  words.textContent = angle.kind === "sound" ? `${angle.camera || "?"} sound` : angle.camera || angle.card;
  made.append(picture, words);
  return made;
}

function nothing() {
  const made = document.createElement("p");
  made.className = "faint";
  made.textContent = "Nothing else was rolling at this moment.";
  return made;
}

function showMoment(made, angle) {
  made.title = `${angle.card} · ${angle.name} at ${angle.label}`;
  const { style } = made.querySelector(".small-picture");
  const strip = angle.filmstrip;
  if (!strip?.count) return;
  const index = Math.min(Math.floor(angle.in_frame / strip.every), strip.count - 1);
  const onSheet = index % (strip.columns * strip.rows);
  const file = strip.files[Math.floor(index / (strip.columns * strip.rows))];
  style.backgroundImage = `url("/media/${angle.clip}/${file}")`;
  style.backgroundSize = `${strip.columns * WIDTH}px ${strip.rows * HEIGHT}px`;
  style.backgroundPosition = `${-(onSheet % strip.columns) * WIDTH}px ${-Math.floor(onSheet / strip.columns) * HEIGHT}px`;
}
