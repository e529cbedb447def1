// What was written down while the camera rolled: the note of the moment, and all of them to go to.

/** Speaks up with "go" (a frame). */
export class FieldNotes extends EventTarget {
  #notes;
  #line;
  #near;
  #shown = null;

  /** `notes` are {frame, label, text} in order; `line` shows the one within `near` frames of what is on the screen. */
  constructor(notes, line, list, near) {
    super();
    this.#notes = notes;
    this.#line = line;
    this.#near = near;
    list?.addEventListener("click", (event) => {
      const { frame } = event.target.closest("button")?.dataset ?? {};
      if (frame !== undefined) this.dispatchEvent(new CustomEvent("go", { detail: Number(frame) }));
    });
    this.show(-Infinity);
  }

  show(frame) {
    if (!this.#line) return;
    const near = this.#notes.filter((note) => Math.abs(note.frame - frame) <= this.#near);
    const words = near.map(({ label, text }) => `${label} ${text}`).join(" · ");
    if (words === this.#shown) return;
    this.#shown = words;
    this.#line.textContent = words;
    this.#line.title = words;
  }
}
