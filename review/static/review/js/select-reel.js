// Selects one after the other without a gap: while one plays, the next already stands at its first frame on a second
// video element, and takes the screen when the last frame of the one before has had its time.
//
//     front  ....... out-1 |
//     back   in (still)    | in+1 ........

import { Deck, playable, stretchOf } from "./select-deck.js";

const EARLY = 0.02; // seconds: a screen shows what was changed at its next refresh

/**
 * Events: "frame" {row, frame, speed, muted}, "change" (it plays, stops, or holds something else), "swap" {from, to}
 * (rows), "skip" {from, to} (`to` cannot be played), "end" (the last of them was played), "trouble" (words).
 */
export class Reel extends EventTarget {
  handles = 0; // seconds
  following = () => null; // the row to play after a row, or null; may promise it
  #screen;
  #front = null;
  #back = null;
  #muted = false;
  #watching = 0;
  #turn = 0; // counts what was asked for, so that what comes late is not shown

  constructor(screen) {
    super();
    this.#screen = screen;
  }

  get row() {
    return this.#front?.row ?? null;
  }

  get frame() {
    return this.#front?.player.frame ?? 0;
  }

  get playing() {
    return this.#front?.player.playing ?? false;
  }

  get speed() {
    return this.#front?.player.speed ?? 0;
  }

  get muted() {
    return this.#muted;
  }

  set muted(muted) {
    this.#muted = muted;
    for (const deck of [this.#front, this.#back]) if (deck) deck.video.muted = muted;
    this.#changed();
  }

  /** The timecode of the frame on the screen. */
  get label() {
    return this.#front?.label(this.frame) ?? "–";
  }

  /** Put a select on the screen, at its first frame. Resolves when it is there; to false if it cannot be. */
  async show(row, stretch = stretchOf(row, this.handles)) {
    const turn = ++this.#turn;
    this.#say(""); // at once: what is said while the picture comes is of something else
    if (!playable(row)) {
      this.#clear();
      this.#say(row.proxy ? "The proxy is still being made, and has not come to this select." : "There is no proxy of it to play yet.");
      return false;
    }
    const kept = this.#back?.row === row && same(this.#back.stretch, stretch) ? this.#back : null;
    const deck = kept ?? new Deck(row, stretch, this.#muted);
    if (!kept) this.#mount(deck);
    try {
      await deck.ready;
    } catch (problem) {
      deck.drop();
      if (turn === this.#turn) this.#say(problem.message);
      return false;
    }
    if (turn !== this.#turn) return deck === this.#back || deck.drop(), false;
    this.#take(deck);
    return true;
  }

  play() {
    if (!this.#front) return;
    const { player, stretch } = this.#front;
    if (player.frame < stretch.out - 1) {
      player.play();
      this.#prepare();
    } else {
      player.addEventListener("settled", () => (player.play(), this.#prepare()), { once: true });
      player.seek(stretch.in);
    }
  }

  pause() {
    this.#front?.player.pause();
  }

  toggle() {
    if (this.playing) this.pause();
    else this.play();
  }

  /** Forwards (1) or backwards (-1); again to go faster. */
  shuttle(direction) {
    this.#front?.player.shuttle(direction);
    this.#prepare();
  }

  step(frames) {
    this.#front?.player.step(frames);
  }

  #mount(deck) {
    deck.video.classList.add("waits");
    this.#screen.append(deck.video);
    deck.player.addEventListener("frame", ({ detail: { frame } }) => deck === this.#front && this.#showed(frame));
    deck.player.addEventListener("change", () => deck === this.#front && this.#changed());
  }

  #take(deck) {
    const before = this.#front;
    if (deck === this.#back) this.#back = null;
    this.#front = deck;
    deck.video.classList.remove("waits");
    before?.video.classList.add("waits");
    before?.drop();
    this.#showed(deck.player.frame);
    this.#changed();
  }

  #clear() {
    this.#front?.drop();
    this.#front = null;
    this.#changed();
  }

  // Have the next one ready while this one plays.
  async #prepare() {
    cancelAnimationFrame(this.#watching);
    const turn = this.#turn;
    const watch = () => {
      if (turn !== this.#turn || !this.#front) return;
      const { player, video, left, stretch } = this.#front;
      // Backwards it ends where it began.
      if (player.speed < 0 && player.frame <= stretch.in) player.pause();
      else if (player.speed > 0 && (video.ended || left / player.speed <= EARLY)) return this.#ended();
      if (player.playing) this.#watching = requestAnimationFrame(watch);
    };
    this.#watching = requestAnimationFrame(watch);
    const row = await this.following(this.#front?.row);
    if (turn !== this.#turn || !row || !playable(row) || this.#back?.row === row) return;
    this.#back?.drop();
    this.#back = new Deck(row, stretchOf(row, this.handles), this.#muted);
    this.#mount(this.#back);
    this.#back.ready.catch(() => {});
  }

  async #ended() {
    const { row: from, player, stretch } = this.#front;
    const speed = player.speed;
    const to = await this.following(from);
    if (!to) {
      player.pause();
      player.seek(stretch.out - 1);
      this.dispatchEvent(new Event("end"));
      return;
    }
    const back = this.#back;
    if (back?.row !== to) {
      // It was not ready in time, or cannot be played: then there is a pause, but nothing is left out without a word.
      player.pause();
      if (!(await this.show(to))) {
        this.dispatchEvent(new CustomEvent("skip", { detail: { from, to } }));
        return;
      }
      this.#front.player.play(speed);
      this.dispatchEvent(new CustomEvent("swap", { detail: { from, to } }));
      return this.#prepare();
    }
    try {
      await back.ready;
    } catch (problem) {
      this.#back = null;
      back.drop();
      player.pause();
      this.#say(problem.message);
      this.dispatchEvent(new CustomEvent("skip", { detail: { from, to } }));
      return;
    }
    this.#turn += 1;
    back.player.play(speed);
    player.pause();
    this.#take(back);
    this.dispatchEvent(new CustomEvent("swap", { detail: { from, to } }));
    this.#prepare();
  }

  #showed(frame) {
    const { row } = this.#front;
    this.dispatchEvent(new CustomEvent("frame", { detail: { row, frame, speed: this.speed, muted: this.#muted } }));
  }

  #changed() {
    this.dispatchEvent(new Event("change"));
  }

  #say(words) {
    this.dispatchEvent(new CustomEvent("trouble", { detail: words }));
  }
}

function same(one, other) {
  return one.in === other.in && one.out === other.out;
}
