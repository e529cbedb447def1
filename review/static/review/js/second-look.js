// Asking that two people watch a clip, or a select of it; and that they need not any more.

import { call } from "./api.js";

export class SecondLook {
  #facts;
  #dialog;
  #asked;
  #label;
  #chosen;
  #say;

  /**
   * `asked` is where the page says what is asked for, `dialog` (null for who may not ask) where it is asked; `chosen()`
   * gives the select that is worked on, `label(frame)` a timecode, `say(words)` tells the person.
   */
  constructor({ facts, asked, dialog, label, chosen, say }) {
    this.#facts = facts;
    this.#asked = asked;
    this.#dialog = dialog;
    this.#label = label;
    this.#chosen = chosen;
    this.#say = say;
    asked.addEventListener("click", ({ target }) => target.dataset.endLook && this.#end(target.dataset.endLook));
    dialog?.querySelector("form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.#ask();
    });
    dialog?.querySelector("[data-close]").addEventListener("click", () => dialog.close());
  }

  /** Asks on what: of the select that is worked on, if there is one. */
  open() {
    const select = this.#chosen();
    this.#part("select").hidden = !select;
    if (select) this.#part("range").textContent = this.#words(select);
    this.#dialog.querySelector(`[name=what][value=${select ? "select" : "clip"}]`).checked = true;
    this.#refuse("");
    this.#dialog.showModal();
    this.#part("why").focus();
  }

  async #ask() {
    const what = this.#dialog.querySelector("[name=what]:checked").value;
    const { in_frame, out_frame } = what === "select" ? this.#chosen() : { in_frame: 0, out_frame: this.#facts.frames };
    const wish = { clip: this.#facts.clip, in_frame, out_frame, why: this.#part("why").value };
    try {
      this.#add(await call("POST", this.#facts.api.secondLooks, wish));
    } catch (problem) {
      return this.#refuse(problem.message);
    }
    this.#part("why").value = "";
    this.#dialog.close();
    this.#say(`Two pairs of eyes are asked for on ${this.#words(wish)}.`);
  }

  async #end(id) {
    try {
      await call("DELETE", `${this.#facts.api.secondLooks}${id}/`);
    } catch (problem) {
      return this.#say(problem.message);
    }
    this.#asked.querySelector(`[data-look="${id}"]`).remove();
    this.#asked.hidden = !this.#asked.children.length;
    this.#say("It is not asked for any more; what was seen stays seen.");
  }

  #add({ id, in_frame, out_frame, why, asked_by }) {
    const line = document.createElement("span");
    line.dataset.look = id;
    const end = Object.assign(document.createElement("button"), { type: "button", className: "small", textContent: "Ask no more" });
    end.dataset.endLook = id;
    const eyes = Object.assign(document.createElement("b"), { textContent: "Two pairs of eyes" });
    const about = why ? `: \u201c${why}\u201d` : "";
    line.append(eyes, ` are asked for on ${this.#words({ in_frame, out_frame })} by ${asked_by}${about} `, end);
    this.#asked.append(line);
    this.#asked.hidden = false;
  }

  #refuse(words) {
    this.#part("refused").textContent = words;
    this.#part("refused").hidden = !words;
  }

  #words({ in_frame, out_frame }) {
    return `${this.#label(in_frame)} \u2013 ${this.#label(out_frame)}`;
  }

  #part(name) {
    return this.#dialog.querySelector(`[data-part=${name}]`);
  }
}
