// Who else is at this clip, what they watch, mark and hold of it, and a word for whoever comes next.

import { Pulse } from "./pulse.js";

export class Company {
  #here;
  #label;
  #marks;
  #writing;
  #held = []; // selects that changed while the note of theirs was being written here

  /**
   * `where()` gives the frame on the screen, `writing()` the id of the select whose note is being written, or null. What
   * the others mark is taken into `marks` and what they watch into `seen`, where they are is shown on `sheet` and in
   * `here`, and `hearStints` is told who holds what.
   */
  constructor({ facts, marks, seen, sheet, label, where, writing, hearStints }, { here, remark }) {
    this.#here = here;
    this.#label = label;
    this.#marks = marks;
    this.#writing = writing;
    const pulse = new Pulse(facts.clip, facts.viewing, where, () => seen.sums);
    pulse.addEventListener("heard", ({ detail }) => {
      const others = detail.others.filter(({ person }) => person !== facts.person); // not one's own other window
      this.#hear(detail.selects);
      hearStints(detail.stints);
      if (detail.seen) seen.hear(detail.seen);
      sheet.show({ others });
      this.#show(others);
    });
    let said = "";
    const send = () => {
      const words = remark.value.trim();
      if (words === said) return;
      said = words;
      pulse.leave(words);
    };
    remark.addEventListener("blur", send);
    addEventListener("pagehide", send);
  }

  // A note is not taken from under the hand that writes it: that both wrote comes out when it is sent, and is asked.
  #hear(selects) {
    const writing = this.#writing();
    const news = [...this.#held, ...selects];
    this.#held = news.filter(({ id }) => id === writing);
    this.#marks.hear(news.filter(({ id }) => id !== writing));
  }

  #show(others) {
    const words = others.map(({ person, frame }) => `${person} is at ${this.#label(frame)}`).join(", ");
    if (this.#here.textContent === words) return;
    this.#here.textContent = words;
    this.#here.title = words;
  }
}
