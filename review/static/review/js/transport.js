// What plays, and what it says of itself: the timecode, the speed, the buttons. What it shows is written down.

/** Intents of the key table. */
export const PLAYING = {
  toggle: ({ player }) => player.toggle(),
  faster: ({ pace }) => pace.change(1),
  slower: ({ pace }) => pace.change(-1),
  forwards: ({ player }) => player.shuttle(1),
  backwards: ({ player }) => player.shuttle(-1),
  frameOn: ({ player }) => player.step(1),
  frameBack: ({ player }) => player.step(-1),
  secondOn: ({ player, second }) => player.step(second),
  secondBack: ({ player, second }) => player.step(-second),
  toFirst: ({ player }) => (player.pause(), player.seek(0)),
  toLast: ({ player, reach }) => (player.pause(), player.seek(reach.frames - 1)),
  loop: ({ loop }) => loop.toggle(),
  mute: ({ player }) => (player.muted = !player.muted),
};

/** Speaks up with "frame" (the frame on the screen). */
export class Transport extends EventTarget {
  #log;
  #page;
  #label;
  #sound = null;

  /** `reach` is {frames} that can be watched, `page(id)` gives a part of the page, `label(frame)` the timecode. */
  constructor({ player, pace, loop, log, reach, timebase, label, page }) {
    super();
    this.player = player;
    this.pace = pace;
    this.loop = loop;
    this.reach = reach;
    this.second = timebase.nominal; // frames
    this.#log = log;
    this.#page = page;
    this.#label = label;
    player.addEventListener("frame", ({ detail: { frame } }) => this.#showFrame(frame));
    player.addEventListener("change", () => this.#changed());
    loop.addEventListener("change", () => this.#showSpeed());
    // Backwards every frame is sought, one after the other.
    page("video").addEventListener("seeking", () => player.speed < 0 || log.cut());
    page("screen").addEventListener("click", () => player.toggle());
  }

  /** The sound desk: what it silences is not heard. */
  set sound(sound) {
    this.#sound = sound;
    sound.addEventListener("change", () => this.#changed());
  }

  #showFrame(frame) {
    this.#page("timecode").textContent = this.#label(frame);
    this.#note(frame);
    this.dispatchEvent(new CustomEvent("frame", { detail: frame }));
  }

  // Backwards there is no sound.
  #note(frame) {
    const { speed, muted } = this.player;
    if (speed) this.#log.shown(frame, speed, speed < 0 || muted || Boolean(this.#sound?.silent));
  }

  #changed() {
    this.#log.end(this.player.take());
    this.#note(this.player.take()); // it is there: no callback comes for it
    this.#showSpeed();
    const { playing, muted } = this.player;
    if (!playing) this.#log.flush(); // so that other pages have it within five seconds
    this.#page("play").textContent = playing ? "Pause" : "Play";
    this.#page("play").setAttribute("aria-pressed", String(playing));
    this.#page("mute").setAttribute("aria-pressed", String(muted));
  }

  #showSpeed() {
    const { speed } = this.player;
    const words = speed === 0 ? "still" : speed === 1 ? "playing" : speed < 0 ? `back ${-speed}×` : `${speed}×`;
    this.#page("speed").textContent = this.loop.on && speed ? `${words} ↻` : words;
  }
}
