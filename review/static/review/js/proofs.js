// The pictures of a select's first and last frame, beside their timecodes. A frame that was taken from the screen is
// drawn at once; the others come from a second player of the same file, which is not on the page.

const PATIENCE = 4000; // ms for a frame to come
const LOOK = 40; // ms between two looks
const PAUSE = 150; // ms: not for every frame that a held key passes
const NAMES = ["in", "out"];

export class Proofs {
  #player;
  #timebase;
  #canvas;
  #has = { in: null, out: null }; // the frame that each of them shows
  #wants = { in: null, out: null };
  #video = null;
  #timer = 0;
  #working = false;

  /** `canvas(name)` gives the canvas of "in" or "out", if the page has it. */
  constructor(player, timebase, canvas) {
    this.#player = player;
    this.#timebase = timebase;
    this.#canvas = canvas;
  }

  /** Take the frame on the screen as "in" or "out"; returns its number. */
  take(name) {
    const frame = this.#player.take(this.#canvas(name));
    this.#has[name] = this.#wants[name] = frame;
    return frame;
  }

  /** Show these frames as `wanted.in` and `wanted.out`; null for none. */
  show(wanted) {
    if (!this.#player || !this.#canvas("in")) return;
    this.#wants = { ...wanted };
    queueMicrotask(() => this.#settle()); // a mark that is being made passes through states that are not to be seen
  }

  #settle() {
    for (const name of NAMES) if (this.#has[name] !== this.#wants[name]) this.#clear(name);
    clearTimeout(this.#timer);
    if (this.#missing) this.#timer = setTimeout(() => this.#fetch(), PAUSE);
  }

  get #missing() {
    return NAMES.find((name) => this.#wants[name] !== this.#has[name]);
  }

  #clear(name) {
    const canvas = this.#canvas(name);
    canvas.getContext("2d").clearRect(0, 0, canvas.width, canvas.height);
    this.#has[name] = null;
  }

  async #fetch() {
    if (this.#working) return;
    this.#working = true;
    for (let name = this.#missing; name; name = this.#missing) {
      const frame = this.#wants[name];
      const picture = await this.#pictureOf(frame);
      if (frame === this.#wants[name]) {
        if (picture) this.#draw(name, picture);
        this.#has[name] = frame; // without its picture too: it is not asked for again and again
      }
      picture?.close();
    }
    this.#working = false;
  }

  #draw(name, picture) {
    const canvas = this.#canvas(name);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  }

  // The decoder's picture of a frame, or null if it does not come.
  async #pictureOf(frame) {
    this.#video ??= Object.assign(document.createElement("video"), { muted: true, preload: "metadata" });
    if (this.#video.src !== this.#player.source) this.#video.src = this.#player.source; // it may have grown
    this.#video.currentTime = this.#timebase.within(frame);
    for (let waited = 0; waited < PATIENCE; waited += LOOK) {
      await new Promise((done) => setTimeout(done, LOOK));
      const picture = this.#video.seeking ? null : pictureIn(this.#video);
      if (picture && this.#timebase.frameAt(picture.timestamp / 1e6) === frame) return picture;
      picture?.close();
    }
    return null;
  }
}

function pictureIn(video) {
  try {
    return new VideoFrame(video);
  } catch {
    return null; // no picture yet
  }
}
