// What two people changed at once: they are told, one after the other, and choose. Escape is no answer.

export class Conflicts {
  #dialog;
  #text;
  #marks;
  #label;
  #open = []; // [id, the select as the server has it]

  /** `label(frame)` gives the timecode. */
  constructor(dialog, text, marks, label) {
    this.#dialog = dialog;
    this.#text = text;
    this.#marks = marks;
    this.#label = label;
    dialog.addEventListener("close", () => this.#answered(dialog.returnValue));
  }

  ask(id, theirs) {
    this.#open.push([id, theirs]);
    if (!this.#dialog.open) this.#show();
  }

  #show() {
    const [id, theirs] = this.#open[0];
    const words = [`Yours: ${this.#words(this.#marks.get(id))}`, `Theirs: ${this.#words(theirs)}`];
    this.#text.replaceChildren(
      ...words.map((text) => Object.assign(document.createElement("p"), { textContent: text })),
    );
    this.#dialog.returnValue = "";
    this.#dialog.showModal();
  }

  #answered(choice) {
    if (choice) {
      const [id, theirs] = this.#open.shift();
      if (choice === "theirs") this.#marks.takeTheirs(id, theirs);
      else this.#marks.keepMine(id, theirs);
    }
    if (this.#open.length) this.#show();
  }

  #words(select) {
    if (!select || select.deleted) return "deleted";
    const range = `${this.#label(select.in_frame)} – ${this.#label(select.out_frame)}`;
    const tags = select.tags.join(", ") || "none";
    return `${range}, rated ${select.rating}, tags: ${tags}, note: ${select.note || "none"}`;
  }
}
