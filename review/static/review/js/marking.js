// Marking, as the keys and buttons of the watching page ask for it: what is worked on, and what is done to it.

import { call } from "./api.js";
import { CannotEdit, caught } from "./mark-edits.js";
import { bandOf, markedIn, markedOut } from "./open-mark.js";

const OPEN = "open"; // the id under which the form shows a mark that has one end
const KEPT = "rushlight-open-mark:";
const HABITS = "/api/v1/habits/";

/** Intents of the key table (keys.js); "rate:3" is "rate" with the value "3". */
export const MARKING = {
  markIn: (desk) => desk.markIn(),
  markOut: (desk) => desk.markOut(),
  closeMark: (desk) => desk.closeMark(),
  catchBack: (desk) => desk.catchBack(),
  moveIn: (desk) => desk.trim("in"),
  moveOut: (desk) => desk.trim("out"),
  inBack: (desk) => desk.nudge("nudgeIn", -1),
  inOn: (desk) => desk.nudge("nudgeIn", 1),
  outBack: (desk) => desk.nudge("nudgeOut", -1),
  outOn: (desk) => desk.nudge("nudgeOut", 1),
  earlier: (desk) => desk.nudge("shift", -1),
  later: (desk) => desk.nudge("shift", 1),
  split: (desk) => desk.split(),
  join: (desk) => desk.join(),
  duplicate: (desk) => desk.duplicate(),
  rate: (desk, value) => desk.change({ rating: Number(value) }),
  note: (desk) => desk.form.writeNote(),
  tag: (desk) => desk.form.typeTag(),
  pin: (desk) => desk.pin(),
  delete: (desk) => desk.active && desk.marks.delete(desk.active),
  undo: (desk) => desk.choose(desk.marks.undo()),
  redo: (desk) => desk.choose(desk.marks.redo()),
};

/** Speaks up with "change" when what is worked on is another, and with "words" (detail) when something must be said. */
export class Marking extends EventTarget {
  active = null; // the id of the select that keys and the form change
  also = new Set(); // ids chosen beside it, to be joined
  open = null; // a mark that has one end: {id, in_frame, out_frame, tags, note, rating}
  #facts;
  #player;
  #proofs;

  /** `label(frame)` gives the timecode; `proofs` shows the frames that are taken. */
  constructor({ facts, marks, form, player, timebase, label, proofs }) {
    super();
    this.marks = marks;
    this.form = form;
    this.timebase = timebase;
    this.label = label;
    this.catchSeconds = facts.habits.catch_seconds;
    this.#facts = facts;
    this.#player = player;
    this.#proofs = proofs;
    this.open = form ? this.#readOpen() : null;
    form?.addEventListener("change", ({ detail }) => this.#changed(detail));
  }

  /** What the form shows: the select that is worked on, or else the open mark. */
  get subject() {
    return (this.active ? this.marks.get(this.active) : null) ?? this.open ?? undefined;
  }

  /** The band of the open mark, [in, out), with `frame` on the screen; null if there is none. */
  band(frame) {
    return this.open && bandOf(this.open, frame);
  }

  /** Work on a select (null for none). */
  choose(id) {
    this.active = id;
    this.also.clear();
    this.#tell();
  }

  /** Choose a select beside the one that is worked on, or no longer. */
  chooseAlso(id) {
    if (!this.active) return this.choose(id);
    if (id === this.active) return;
    if (!this.also.delete(id)) this.also.add(id);
    this.#tell();
  }

  /** Let go of the select, or else of the open mark. */
  letGo() {
    if (!this.active) this.#keepOpen(null);
    this.choose(null);
  }

  /** The frame on the screen, with its picture as the proof. */
  take(name) {
    return this.#proofs.take(name);
  }

  markIn() {
    const frame = this.take("in");
    const answer = markedIn(this.open, frame);
    this.#marked(answer, `In (${this.label(frame)}) is not before the out that was marked: a new mark begins here.`);
  }

  markOut() {
    const frame = this.take("out");
    const answer = markedOut(this.open, frame);
    const start = this.label(this.open?.in_frame ?? 0);
    this.#marked(answer, `Out (${this.label(frame)}) is before in (${start}): go on, or mark in again.`);
  }

  // What was said of the open mark stays with it when it begins anew.
  #marked({ open, range, late }, words) {
    const { tags, note, rating } = this.open ?? { tags: this.form.pinned, note: "", rating: 0 };
    this.#keepOpen(open && { id: OPEN, ...open, tags, note, rating });
    this.#say(late ? words : "");
    this.also.clear();
    this.active = range ? this.marks.make(...range, { tags, note, rating }) : null;
    this.#tell();
  }

  /** End the open mark on the frame on the screen. */
  closeMark() {
    if ((this.open?.in_frame ?? null) === null) return this.#say("No mark is open: mark in opens one.");
    this.markOut();
  }

  /** Make a select of the last seconds: in unscripted footage one knows afterwards. An open mark stays open. */
  catchBack() {
    const [start, end] = caught(this.take("out"), this.catchSeconds, this.timebase);
    this.also.clear();
    this.#say("");
    this.active = this.marks.make(start, end, { tags: this.form.pinned });
    this.#tell();
  }

  /** How far back the catch key reaches, here and wherever this person signs in. */
  async setCatchSeconds(seconds) {
    if (!Number.isInteger(seconds) || seconds < 1) return this.#say("The catch key reaches back a number of seconds, 1 or more.");
    this.catchSeconds = seconds;
    await call("POST", HABITS, { catch_seconds: seconds }).catch((problem) => this.#say(problem.message));
  }

  /** Put the select's "in" or "out" on the frame on the screen. */
  trim(end) {
    this.#edit((id) => {
      const frame = this.take(end);
      this.marks.trim(id, end === "in" ? { in_frame: frame } : { out_frame: frame + 1 });
    });
  }

  /** Make a select of frames [in_frame, out_frame), as drawn on the sheet. An open mark stays open. */
  drag(in_frame, out_frame) {
    this.also.clear();
    this.#say("");
    this.active = this.marks.make(in_frame, out_frame, { tags: this.form.pinned });
    this.#tell();
  }

  /** Put the edge `which` ("in_frame" or "out_frame") of a select on `frame`, as drawn on the sheet. */
  dragEdge({ id, which, frame }) {
    if (this.active !== id) this.choose(id);
    this.#edit((active) => this.marks.trim(active, { [which]: frame }));
    this.#tell();
  }

  /** `how` is "nudgeIn", "nudgeOut" or "shift"; frames are signed. */
  nudge(how, frames) {
    this.#edit((id) => this.marks[how](id, frames));
  }

  split() {
    this.#edit((id) => this.choose(this.marks.split(id, this.#player.take())));
  }

  /** Join the selects that are chosen, or the one with the next that it touches. */
  join() {
    this.#edit((id) => {
      const others = this.also.size ? [...this.also] : [this.marks.neighbour(id)];
      this.choose(this.marks.join([id, ...others]));
    });
  }

  duplicate() {
    this.#edit((id) => this.choose(this.marks.duplicate(id)));
    if (this.active) this.#say("This is the second of two alike.");
  }

  change(changes) {
    const { subject } = this;
    if (subject) this.#changed({ id: subject.id, changes, together: null });
  }

  pin() {
    this.#say(this.form.togglePin() ? "" : "Give a select its tags first; then they can be pinned for those to come.");
  }

  #edit(work) {
    if (!this.active) return this.#say("Choose a select first, in the list or with the arrow keys.");
    this.#say("");
    try {
      work(this.active);
    } catch (problem) {
      if (!(problem instanceof CannotEdit)) throw problem;
      this.#say(problem.message);
      this.#tell(); // a frame may have been taken that is not the select's
    }
  }

  #changed({ id, changes, together }) {
    if (id !== OPEN) return this.marks.change(id, changes, together);
    if (!this.open) return;
    this.#keepOpen({ ...this.open, ...changes });
    this.#tell();
  }

  // An open mark outlives the page, too.
  get #name() {
    return `${KEPT}${this.#facts.person}:${this.#facts.clip}`;
  }

  #keepOpen(open) {
    this.open = open;
    try {
      if (open) localStorage.setItem(this.#name, JSON.stringify(open));
      else localStorage.removeItem(this.#name);
    } catch {
      // this browser keeps nothing; the page does
    }
  }

  #readOpen() {
    try {
      return JSON.parse(localStorage.getItem(this.#name));
    } catch {
      return null;
    }
  }

  #say(words) {
    this.dispatchEvent(new CustomEvent("words", { detail: words }));
  }

  #tell() {
    this.dispatchEvent(new Event("change"));
  }
}
