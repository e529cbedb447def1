// The field that a timecode is typed in, to go there.

import { NoSuchFrame, typedFrame } from "./typed.js";

/** Speaks up with "go" (a frame) and "done" (back to the page). */
export class TimecodeField extends EventTarget {
  #field;
  #refusal;

  /** `shown()` gives the frame on the screen, which short forms are read from; `clip` has `start` and `frames`. */
  constructor(field, refusal, shown, clip, timebase) {
    super();
    this.#field = field;
    this.#refusal = refusal;
    field.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.#leave();
      if (event.key !== "Enter" || event.isComposing) return;
      event.preventDefault();
      if (!field.value.trim()) return this.#leave();
      try {
        const frame = typedFrame(field.value, shown(), clip, timebase);
        this.dispatchEvent(new CustomEvent("go", { detail: frame }));
        this.#leave();
      } catch (problem) {
        if (!(problem instanceof NoSuchFrame)) throw problem;
        this.#refuse(problem.message);
        field.select();
      }
    });
    field.addEventListener("input", () => this.#refuse(""));
    field.addEventListener("blur", () => ((field.value = ""), this.#refuse("")));
  }

  focus() {
    this.#field.focus();
    this.#field.select();
  }

  #refuse(words) {
    this.#refusal.textContent = words;
    this.#refusal.hidden = !words;
    this.#field.setAttribute("aria-invalid", String(Boolean(words)));
  }

  #leave() {
    this.#field.blur();
    this.dispatchEvent(new Event("done"));
  }
}
