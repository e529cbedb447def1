// The selects of a clip as this page has them, with undo and redo. What changes goes to the outbox.

import { newId } from "./ids.js";
import * as edits from "./mark-edits.js";
import { contentOf } from "./outbox-rules.js";

const FIELDS = ["in_frame", "out_frame", "tags", "note", "rating"];
const EMPTY = { tags: [], note: "", rating: 0 };

function pick(select, fields) {
  return Object.fromEntries(fields.map((field) => [field, select[field]]));
}

export class Marks extends EventTarget {
  #clip;
  #person;
  #frames;
  #outbox;
  #selects = new Map(); // id -> select; a deleted one keeps its words and version here, `deleted` true
  #done = []; // {items: [{id, before, after}], together}: only the fields that a step changed
  #undone = [];
  #hides = () => false;

  /** `clip` is {id, frames}; `selects` are as the server has them. */
  constructor(clip, person, selects, outbox) {
    super();
    this.#clip = clip.id;
    this.#frames = clip.frames;
    this.#person = person;
    this.#outbox = outbox;
    for (const select of selects) this.#selects.set(select.id, { ...select });
    for (const [id, wish] of outbox.left) this.#take(id, wish);
    outbox.addEventListener("sent", (event) => this.#sent(event.detail));
    outbox.addEventListener("heard", ({ detail: { id, wish } }) => (this.#take(id, wish), this.#tell()));
    outbox.addEventListener("dropped", ({ detail: { id, current } }) => (this.#put(id, current), this.#tell()));
  }

  /** Those that are not deleted or left out, in order of their in points. */
  get all() {
    return [...this.#selects.values()]
      .filter((select) => !select.deleted && !this.#hides(select))
      .sort((a, b) => a.in_frame - b.in_frame || a.out_frame - b.out_frame);
  }

  /** Leave out of `all` those of which `hides(select)` is true, until it is said anew. */
  leaveOut(hides) {
    this.#hides = hides;
    this.#tell();
  }

  get(id) {
    const select = this.#selects.get(id);
    return select && !select.deleted ? select : undefined;
  }

  // Changing: each is one step of undo. What cannot be done throws a CannotEdit. ------------------

  /** Make a select of frames [in_frame, out_frame); returns its id. */
  make(in_frame, out_frame, rest = {}) {
    const id = newId();
    this.#do([[id, { ...EMPTY, ...rest, in_frame, out_frame, deleted: false }]]);
    return id;
  }

  /** Change fields of a select. Changes that are `together` (any word), one right after the other, are one step. */
  change(id, changes, together = null) {
    if (this.get(id)) this.#do([[id, changes]], together);
  }

  delete(id) {
    if (this.get(id)) this.#do([[id, { deleted: true }]]);
  }

  /** Split a select before `frame`; returns the id of the second part. */
  split(id, frame) {
    const [first, second] = edits.split(pick(this.get(id), FIELDS), frame);
    const made = newId();
    this.#do([
      [id, first],
      [made, { ...second, deleted: false }],
    ]);
    return made;
  }

  /** Join selects into the earliest one of them; returns its id. */
  join(ids) {
    const among = this.all.filter((select) => ids.includes(select.id));
    const joined = edits.join(among);
    const [first, ...others] = among;
    this.#do([[first.id, joined], ...others.map(({ id }) => [id, { deleted: true }])]);
    return first.id;
  }

  /** The selects after a select, or else before it, that touch or overlap it: the first one's id, if there is one. */
  neighbour(id) {
    const { in_frame, out_frame } = this.get(id);
    const touching = this.all.filter((each) => each.id !== id && each.in_frame <= out_frame && each.out_frame >= in_frame);
    return (touching.find((each) => each.in_frame >= in_frame) ?? touching.at(-1))?.id;
  }

  /** The same again, to be changed apart; returns its id. */
  duplicate(id) {
    const { in_frame, out_frame, ...rest } = pick(this.get(id), FIELDS);
    return this.make(in_frame, out_frame, rest);
  }

  shift(id, frames) {
    this.change(id, edits.shift(this.get(id), frames, this.#frames));
  }

  nudgeIn(id, frames) {
    this.change(id, edits.nudgeIn(this.get(id), frames));
  }

  nudgeOut(id, frames) {
    this.change(id, edits.nudgeOut(this.get(id), frames, this.#frames));
  }

  trim(id, changes) {
    this.change(id, edits.trim(this.get(id), changes, this.#frames));
  }

  /** Undo the last step; returns the id of a select it touched that is there, or null. */
  undo() {
    return this.#turn(this.#done, this.#undone, "before");
  }

  redo() {
    return this.#turn(this.#undone, this.#done, "after");
  }

  /** Take in selects as the server has them now, but for those that something of this page waits for. */
  hear(selects) {
    const news = selects.filter(({ id, version }) => {
      const known = this.#selects.get(id);
      return this.#outbox.standing(id).name === "saved" && (!known || version > known.version);
    });
    for (const select of news) this.#selects.set(select.id, { ...select });
    if (news.length) this.#tell();
  }

  /** Take in something that the server says of a select beside its mark: it is no version of it. */
  learn(id, facts) {
    const known = this.#selects.get(id);
    if (!known) return;
    this.#selects.set(id, { ...known, ...facts });
    this.#tell();
  }

  // After a refusal ------------------------------------------------------------------------------

  /** After a conflict: write ours (the wish that was refused) over what the server has. */
  keepMine(id, mine, theirs) {
    this.#put(id, theirs);
    this.#do([[id, contentOf(mine)]], null, mine);
  }

  /** After a conflict: take what the server has. Undo brings ours back. */
  takeTheirs(id, mine, theirs) {
    this.#outbox.drop(id, theirs);
    const [ours, kept] = [contentOf(mine), contentOf({ method: theirs.deleted ? "DELETE" : "PUT", body: theirs })];
    this.#put(id, theirs);
    this.#step([{ id, before: ours, after: kept }]);
    this.#tell();
  }

  /** After a conflict: theirs stays, and ours becomes a select of its own. */
  keepBoth(id, mine, theirs) {
    this.takeTheirs(id, mine, theirs);
    const { in_frame, out_frame, ...rest } = contentOf(mine);
    return this.make(in_frame, out_frame, rest);
  }

  /** A select that the server will never take: forget it. */
  forget(id) {
    this.#selects.delete(id);
    this.#outbox.drop(id);
    this.#tell();
  }

  // Within ---------------------------------------------------------------------------------------

  #do(changes, together = null, over = undefined) {
    const items = [];
    for (const [id, fields] of changes) {
      const known = this.#selects.get(id) ?? { deleted: true };
      const changed = Object.keys(fields).filter((each) => JSON.stringify(known[each]) !== JSON.stringify(fields[each]));
      if (changed.length) items.push({ id, before: pick(known, changed.filter((each) => each in known)), after: pick(fields, changed) });
      if (changed.length || over) this.#apply(id, fields, over);
    }
    if (items.length) this.#step(items, together);
    this.#tell();
  }

  #step(items, together = null) {
    const last = this.#done.at(-1);
    this.#undone = [];
    if (together !== null && last?.together === together) last.items[0].after = items[0].after;
    else this.#done.push({ items, together });
  }

  // Somebody else may have taken a select away meanwhile: then only bringing it back changes it.
  #turn(from, to, side) {
    const step = from.pop();
    if (!step) return null;
    to.push({ ...step, together: null });
    for (const { id, [side]: fields } of step.items) {
      const known = this.#selects.get(id);
      if (known && (!known.deleted || fields.deleted === false)) this.#apply(id, fields);
    }
    this.#tell();
    return step.items.map(({ id }) => id).find((id) => this.get(id)) ?? null;
  }

  #apply(id, fields, over = undefined) {
    const known = this.#selects.get(id) ?? { id, logger: this.#person, version: 0, ...EMPTY };
    const select = { ...known, ...fields };
    this.#selects.set(id, select);
    const { version } = select;
    if (select.deleted) this.#outbox.add(id, "DELETE", { version }, over);
    else this.#outbox.add(id, "PUT", { clip: this.#clip, ...pick(select, FIELDS), version }, over);
  }

  // A wish of an earlier page, or of another tab.
  #take(id, wish) {
    const known = this.#selects.get(id) ?? { id, logger: this.#person, ...EMPTY };
    this.#selects.set(id, { ...known, ...contentOf(wish), version: wish.body.version });
  }

  #put(id, select) {
    if (select) this.#selects.set(id, { ...select });
    else this.#selects.delete(id);
  }

  // The server has it: only its version (and, if nothing newer waits, its tidied words) matter here. Of a select that
  // was changed and then deleted it knows less than we do.
  #sent({ id, select, newer, follows }) {
    const mine = this.#selects.get(id);
    if (!mine) return;
    if (!newer && !mine.deleted) this.#selects.set(id, { ...mine, ...select });
    else if (!newer || follows) this.#selects.set(id, { ...mine, version: select.version });
    this.#tell();
  }

  #tell() {
    this.dispatchEvent(new Event("change"));
  }
}
