// Writes down which frames were on the screen, forwards or backwards, and sends them in numbered batches.
//
// Only what the player showed one after the other counts. A batch keeps its number until the server
// has it, so that sending it twice counts it once.

import { union } from "./ranges.js";

const EVERY = 5000; // ms between batches
const MOST_SKIPPED = 0.25; // seconds that one callback may lie after another, per unit of speed
const MOST_SPANS = 500; // in a batch, as the server has it

export class WatchLog {
  #send;
  #timebase;
  #keep;
  #open = null; // the span being shown: {in_frame, out_frame, speed (signed), muted}
  #done = []; // spans that are in no batch yet
  #seen = []; // [in, out) of everything shown since the page was opened
  #queue = []; // batches that the server does not have yet
  #number = 0;
  #tried = 0; // the highest number that the server may have heard of: such a batch stays as it is
  #sending = false;

  /**
   * `send(number, spans, leaving)` resolves when the server has counted them; `keep(batches)` holds what it does not
   * have yet, {number, spans}, for a page that comes later.
   */
  constructor(timebase, send, keep = () => {}) {
    this.#timebase = timebase;
    this.#send = send;
    this.#keep = keep;
    setInterval(() => this.flush(), EVERY);
  }

  /** A frame came on the screen while playing at `speed`, below 0 for backwards. */
  shown(frame, speed, muted) {
    if (this.#open?.speed === speed && this.#open.muted === muted && this.#follows(frame)) return this.#reach(frame);
    this.cut();
    this.#open = { in_frame: frame, out_frame: frame + 1, speed, muted };
  }

  /** Playing ends with this frame on the screen: its callback may come too late. */
  end(frame) {
    if (this.#follows(frame)) this.#reach(frame);
    this.cut();
  }

  #reach(frame) {
    if (this.#open.speed > 0) this.#open.out_frame = frame + 1;
    else this.#open.in_frame = frame;
  }

  #follows(frame) {
    if (!this.#open) return false;
    const { in_frame, out_frame, speed } = this.#open;
    const { numerator, denominator } = this.#timebase;
    const step = speed > 0 ? frame - (out_frame - 1) : in_frame - frame;
    return step >= 0 && step <= Math.max(2, (MOST_SKIPPED * Math.abs(speed) * numerator) / denominator);
  }

  /** What comes next does not follow on what was shown. */
  cut() {
    if (this.#open && this.#open.in_frame < this.#open.out_frame) {
      this.#done.push({ ...this.#open, speed: Math.abs(this.#open.speed) });
      this.#seen = union([...this.#seen, [this.#open.in_frame, this.#open.out_frame]]);
    }
    this.#open = null;
  }

  /** What this page has shown, which the server may not know yet: ranges of frames. */
  get seen() {
    return union([...this.#seen, ...(this.#open ? [[this.#open.in_frame, this.#open.out_frame]] : [])]);
  }

  /** Send what has gathered. What the server cannot take now is kept and sent the next time. */
  async flush() {
    this.#gather();
    if (this.#sending) return;
    this.#sending = true;
    try {
      while (this.#queue.length) {
        this.#tried = Math.max(this.#tried, this.#queue[0].number);
        await this.#send(this.#queue[0].number, this.#queue[0].spans, false);
        this.#drop();
      }
    } catch (problem) {
      if (!problem.passing) this.#drop();
    } finally {
      this.#sending = false;
    }
  }

  /** The page goes away: send everything, as one batch, in a way that outlives it. */
  leave() {
    this.cut();
    this.#gather();
    if (!this.#queue.length) return;
    this.#tried = this.#number;
    const spans = this.#queue.flatMap((batch) => batch.spans);
    this.#send(this.#number, spans, true).then(() => this.#keep([]), () => {});
  }

  #drop() {
    this.#queue.shift();
    this.#keep(this.#queue);
  }

  #gather() {
    const goingOn = this.#open;
    this.cut();
    // The span goes on where it was cut: a frame sent twice would be paid for twice with the clock's time.
    if (goingOn) {
      const { in_frame, out_frame, speed } = goingOn;
      this.#open = speed > 0 ? { ...goingOn, in_frame: out_frame } : { ...goingOn, out_frame: in_frame };
    }
    if (!this.#done.length) return;
    if (!this.#addedToLast()) this.#queue.push({ number: (this.#number += 1), spans: this.#done });
    this.#done = [];
    this.#keep(this.#queue);
  }

  // While the server is away the last batch takes in what comes, and spans that go on are one: hours fit in a few words.
  #addedToLast() {
    const last = this.#queue.at(-1);
    if (!last || last.number <= this.#tried) return false;
    const spans = joined([...last.spans, ...this.#done]);
    if (spans.length > MOST_SPANS) return false;
    last.spans = spans;
    return true;
  }
}

// Spans of which one goes on where the one before it ended, forwards or backwards, at the same speed, as one.
function joined(spans) {
  const made = [];
  for (const span of spans) {
    const last = made.at(-1);
    const alike = last && last.speed === span.speed && last.muted === span.muted;
    if (alike && last.out_frame === span.in_frame) last.out_frame = span.out_frame;
    else if (alike && last.in_frame === span.out_frame) last.in_frame = span.in_frame;
    else made.push({ ...span });
  }
  return made;
}
