// Which other cameras and sound were rolling at the moment on the screen, as small pictures; and the way there.

import { call } from "./api.js";

const AFTER = 350; // ms: not for every frame on the way
const [WIDTH, HEIGHT] = [96, 54]; // px, as in watch.css

export class AnglesPanel extends EventTarget {
  #box;
  #clip;
  #found = [];
  #frame = null;
  #timer = 0;
  #asking = false;

  constructor(box, clip) {
    super();
    this.#box = box;
    this.#clip = clip;
    box.addEventListener("click", (event) => {
      const at = event.target.closest("button")?.dataset.angle;
      if (at !== undefined) this.#go(this.#found[at]);
    });
  }

  /** The frame on the screen is this one. */
  show(frame) {
    if (frame === this.#frame) return;
    this.#frame = frame;
    if (!this.#timer) this.#timer = setTimeout(() => this.#ask(), AFTER);
  }

  /** To the same instant on the next camera (1) or the one before (-1); false if nothing else was rolling. */
  hop(direction) {
    if (!this.#found.length) return false;
    const order = [...this.#found].sort((a, b) => `${a.camera}${a.card}`.localeCompare(`${b.camera}${b.card}`));
    const here = `${this.#clip.camera}${this.#clip.card}`;
    const after = order.findIndex((angle) => `${angle.camera}${angle.card}` > here);
    const first = after < 0 ? order.length : after;
    const at = direction > 0 ? first % order.length : (first - 1 + order.length) % order.length;
    this.#go(order[at]);
    return true;
  }

  get any() {
    return this.#found.length > 0;
  }

  #go(angle) {
    this.dispatchEvent(new CustomEvent("go", { detail: `/clips/${angle.clip}/?frame=${angle.in_frame}` }));
  }

  async #ask() {
    this.#timer = 0;
    if (this.#asking) return void (this.#timer = setTimeout(() => this.#ask(), AFTER));
    const frame = this.#frame;
    this.#asking = true;
    try {
      this.#found = await call("GET", `/api/v1/clips/${this.#clip.clip}/angles/?frame=${frame}`);
      this.#draw();
    } catch {
      // the panel keeps what it showed
    } finally {
      this.#asking = false;
    }
    if (frame !== this.#frame && !this.#timer) this.#timer = setTimeout(() => this.#ask(), AFTER);
  }

  #draw() {
    this.#box.hidden = !this.#found.length;
    this.#box.replaceChildren(...this.#found.map((angle, at) => this.#button(angle, at)));
  }

  #button(angle, at) {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.angle = at;
    button.title = `${angle.card} · ${angle.name} at ${angle.label}`;
    const name = document.createElement("span");
    name.textContent = angle.kind === "sound" ? `${angle.camera || "?"} sound` : angle.camera || angle.card;
    button.append(picture(angle), name);
    return button;
  }
}

function picture(angle) {
  const made = document.createElement("span");
  made.className = "small-picture";
  const strip = angle.filmstrip;
  if (!strip?.count) return made;
  const index = Math.min(Math.floor(angle.in_frame / strip.every), strip.count - 1);
  const onSheet = index % (strip.columns * strip.rows);
  const file = strip.files[Math.floor(index / (strip.columns * strip.rows))];
  made.style.backgroundImage = `url("/media/${angle.clip}/${file}")`;
  made.style.backgroundSize = `${strip.columns * WIDTH}px ${strip.rows * HEIGHT}px`;
  made.style.backgroundPosition = `${-(onSheet % strip.columns) * WIDTH}px ${-Math.floor(onSheet / strip.columns) * HEIGHT}px`;
  return made;
}
