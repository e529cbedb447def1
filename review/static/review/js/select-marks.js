// Marks on selects of many clips, by the same way as on the watching page: written down in the browser first, sent by
// the outbox of their clip, and asked about when somebody else was faster.

import { Conflicts } from "./conflicts.js";
import { Marks } from "./marks.js";
import { Outbox } from "./outbox.js";
import { sendSelect } from "./select-calls.js";
import { Store } from "./store.js";
import { Timebase } from "./timecode.js";

/** Events: "change" (something stands elsewhere than before), "select" (a select as it now is), "away" (words). */
export class ManyMarks extends EventTarget {
  #person;
  #template;
  #clips = new Map(); // clip -> promise of {marks, outbox}
  #outboxes = [];
  #done = []; // the marks of each step, for undo
  #store = Store.open();

  /** `template` holds the dialog that asks about a conflict. */
  constructor(person, template) {
    super();
    this.#person = person;
    this.#template = template;
  }

  get waiting() {
    return this.#outboxes.reduce((sum, outbox) => sum + outbox.waiting, 0);
  }

  get refused() {
    return this.#outboxes.reduce((sum, outbox) => sum + outbox.refused, 0);
  }

  /** Change fields of a row's select, to what `changes` makes of it as it stands by then: keys come faster than a
   * clip's outbox opens. */
  async change(row, changes) {
    const { marks } = await this.#of(row);
    marks.change(row.id, changes(marks.get(row.id)));
    this.#done.push(marks);
  }

  /** Something that the server says of a row's select beside its mark. */
  async learn(row, facts) {
    const opened = await this.#clips.get(row.clip);
    opened?.marks.learn(row.id, facts);
  }

  /** Undo the last change; resolves to false if there is none. */
  async undo() {
    const marks = this.#done.pop();
    return Boolean(marks?.undo());
  }

  async #of(row) {
    if (!this.#clips.has(row.clip)) this.#clips.set(row.clip, this.#open(row));
    const opened = await this.#clips.get(row.clip);
    opened.marks.hear([row]);
    return opened;
  }

  async #open(row) {
    const outbox = await Outbox.open(this.#person, row.clip, sendSelect, await this.#store);
    const marks = new Marks({ id: row.clip, frames: row.clipFrames }, this.#person, [row], outbox);
    const timebase = new Timebase(...row.rate, row.drop);
    const conflicts = this.#conflicts(marks, (frame) => timebase.label(row.start + frame));
    this.#outboxes.push(outbox);
    marks.addEventListener("change", () => this.#tell(marks));
    outbox.addEventListener("change", () => this.dispatchEvent(new Event("change")));
    outbox.addEventListener("away", ({ detail }) => this.dispatchEvent(new CustomEvent("away", { detail: detail.message })));
    outbox.addEventListener("answered", ({ detail: { id } }) => conflicts.forget(id));
    outbox.addEventListener("refused", ({ detail: { id, wish, problem } }) => {
      if (problem.status === 409 && problem.body.current) conflicts.ask(id, wish, problem.body.current);
      else this.dispatchEvent(new CustomEvent("away", { detail: problem.message }));
    });
    return { marks, outbox };
  }

  // Each clip has a dialog of its own.
  #conflicts(marks, label) {
    const dialog = this.#template.content.firstElementChild.cloneNode(true);
    document.body.append(dialog);
    return new Conflicts(dialog, dialog.querySelector(".conflict-text"), marks, label);
  }

  #tell(marks) {
    for (const select of marks.all) this.dispatchEvent(new CustomEvent("select", { detail: select }));
  }
}
