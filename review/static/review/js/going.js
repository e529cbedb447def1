// Ways to go through a clip: to what nobody has seen, from select to select, from speech to speech.

import { call } from "./api.js";
import { leaveFor } from "./arrival.js";
import { otherSpeech } from "./lanes.js";
import { LINE_LENGTHS } from "./sheet.js";
import { nextHere, toWatch } from "./to-watch.js";

const LOOKING = "No other unwatched stretch begins ahead in this clip: looking for the next \u2026";
const BACK = "Back to where this unwatched stretch begins.";
const OWN_FIRST = "What you hold comes first: looking for it \u2026";
const NAMES = new Intl.ListFormat("en-GB");
const PATIENCE = 1000; // ms that the key waits to hear who holds what
const MOST_STINTS = 500; // of one clip, that are asked for

/** Intents of the key table; those of other parts of the page are added by it. */
export const GOING = {
  nextUnwatched: (going) => going.nextUnwatched(),
  nextSpeech: (going) => going.otherSpeech(1),
  speechBefore: (going) => going.otherSpeech(-1),
  nextSelect: (going) => going.otherSelect(1),
  selectBefore: (going) => going.otherSelect(-1),
  longerLines: (going) => going.changeLines(1),
  shorterLines: (going) => going.changeLines(-1),
};

export class Going {
  #player;
  #marks;
  #marking;
  #sheet;
  #seen;
  #log;
  #facts;
  #reach;
  #timebase;
  #label;
  #say;
  #loop;
  #asking = false; // who holds what
  #speechSought = null; // the frame to go on from, if the key is pressed again before it is there

  /** `say(words)` tells the person; `reach` is {frames} that can be watched. */
  constructor({ player, marks, marking, sheet, seen, log, loop, facts, reach, timebase, label, say }) {
    this.#player = player;
    this.#marks = marks;
    this.#marking = marking;
    this.#sheet = sheet;
    this.#seen = seen;
    this.#log = log;
    this.#loop = loop;
    this.#facts = facts;
    this.#reach = reach;
    this.#timebase = timebase;
    this.#label = label;
    this.#say = say;
    player?.addEventListener("settled", () => (this.#speechSought = null));
  }

  /** To a frame, if it can be watched yet. */
  to(frame) {
    if (!this.#player) return;
    const { frames } = this.#reach;
    const there = frame < frames;
    this.#say(there ? "" : `${this.#label(frame)} cannot be watched yet: the proxy reaches ${this.#label(frames - 1)} so far.`);
    if (!there) return;
    this.#log.cut();
    this.#player.seek(frame);
  }

  /** To a select, which is worked on from then. */
  toSelect(id) {
    if (id !== this.#marking.active) this.#loop?.stop();
    this.#marking.choose(id);
    if (id) this.to(this.#marks.get(id).in_frame);
  }

  // To the start of the stretch in whose midst the playhead is, or else of the next ahead that is this person's to watch:
  // of this clip, then of the production, which comes round again. What others hold is passed by, here as there.
  async nextUnwatched() {
    if (this.#asking) return;
    this.#asking = true;
    this.#loop?.stop();
    await this.#learnStints();
    this.#asking = false;
    // What is being watched is entered already: the rest of it begins with the frame that comes.
    const frame = this.#player.frame + (this.#player.speed > 0 ? 1 : 0);
    const { start, ownFirst, holders } = nextHere(this.#toWatch(), {
      frame,
      reach: this.#reach.frames,
      holdsMore: this.#facts.holdsMore,
    });
    const names = NAMES.format(holders);
    if (start !== null) {
      this.#say(start < frame ? BACK : names && `Passed by what ${names} ${holders.length > 1 ? "hold" : "holds"}.`);
      this.#player.seek(start);
      return;
    }
    const held = `What is unwatched ahead here is held by ${names}: looking for the next \u2026`;
    this.#say(ownFirst ? OWN_FIRST : names ? held : LOOKING);
    this.#log.flush().finally(() => leaveFor(`${this.#facts.next}&frame=${frame}`, this.#facts, names));
  }

  // What somebody took on since the page was opened is not to be entered. With no answer soon, what was known counts.
  async #learnStints() {
    const { api, clip } = this.#facts;
    const asked = call("GET", `${api.stints}?clip=${clip}&held=yes&page_size=${MOST_STINTS}`).catch(() => null);
    const answer = await Promise.race([asked, new Promise((done) => setTimeout(done, PATIENCE))]);
    if (answer) this.#facts.stints = answer.results;
  }

  #toWatch() {
    const { stints, person, frames } = this.#facts;
    const seen = [...this.#seen.watched, ...this.#seen.skimmed, ...this.#log.seen];
    return toWatch({ stints, person, seen, mine: [...this.#seen.mine, ...this.#log.seen], frames });
  }

  otherSelect(direction) {
    const { all } = this.#marks;
    if (!all.length) return;
    const ahead = all.findIndex((select) => select.in_frame > this.#player.frame);
    const here = all.findIndex((select) => select.id === this.#marking.active);
    const from = here >= 0 ? here : (ahead < 0 ? all.length : ahead) - (direction > 0 ? 1 : 0);
    this.toSelect(all[Math.max(0, Math.min(all.length - 1, from + direction))].id);
  }

  // While it plays, the speech before is not the one that has just begun.
  otherSpeech(direction) {
    const { playing, frame } = this.#player;
    const from = this.#speechSought ?? frame - (direction < 0 && playing ? this.#timebase.nominal : 0);
    const start = otherSpeech(this.#sheet.lanes, from, direction);
    this.#say(start === undefined ? `No speech was found ${direction > 0 ? "after" : "before"} this.` : "");
    if (start !== undefined) this.#player.seek((this.#speechSought = start));
  }

  /** The sheet's lines one step longer (1) or shorter (-1). */
  changeLines(direction) {
    const seconds = LINE_LENGTHS[LINE_LENGTHS.indexOf(this.#sheet.lineLength) + direction];
    if (seconds) this.#sheet.setLineLength(seconds);
  }
}
