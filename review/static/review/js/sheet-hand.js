// The hand on the sheet: a click goes there, a drag marks, and an edge that is dragged trims its select.

const STILL = 4; // px that a click may move
const NEAR = 6; // px beside an edge that take hold of it

export class SheetHand extends EventTarget {
  #box;
  #frameAt;
  #edges;
  #hold = null; // {x, frame, edge, moved}

  /**
   * `frameAt(event)` gives the frame under the pointer, or null beside the film; `edges(event, near)` the edge of a
   * select there, as {id, which, frame} with `which` in_frame or out_frame, or null.
   *
   * Dispatches "go" (a frame), "dragging" ([in, out) or null), "trimming" ({id, which, frame} or null), "mark" ([in,
   * out)) and "trim" ({id, which, frame}).
   */
  constructor(box, frameAt, edges) {
    super();
    this.#box = box;
    this.#frameAt = frameAt;
    this.#edges = edges;
    box.addEventListener("pointerdown", (event) => this.#down(event));
    box.addEventListener("pointermove", (event) => this.#move(event));
    box.addEventListener("pointerup", (event) => this.#up(event));
    box.addEventListener("pointercancel", () => this.#end());
    document.addEventListener("keydown", (event) => this.#pressed(event), true);
  }

  #down(event) {
    if (event.button !== 0 || !event.isPrimary) return;
    const frame = this.#frameAt(event);
    if (frame === null) return;
    this.#hold = { x: event.clientX, y: event.clientY, frame, edge: this.#edges(event, NEAR), moved: false };
  }

  #move(event) {
    if (!this.#hold) return this.#point(event);
    const { x, y, frame, edge } = this.#hold;
    if (!this.#hold.moved && Math.hypot(event.clientX - x, event.clientY - y) <= STILL) return;
    if (!this.#hold.moved) this.#box.setPointerCapture(event.pointerId);
    this.#hold.moved = true;
    const now = this.#frameAt(event);
    if (now === null) return;
    if (edge) this.#tell("trimming", trimmed(edge, now));
    else this.#tell("dragging", span(frame, now));
    this.#tell("go", now);
  }

  #up(event) {
    const hold = this.#hold;
    if (!hold) return;
    const now = this.#frameAt(event);
    this.#end();
    if (!hold.moved) this.#tell("go", hold.frame);
    else if (now !== null && hold.edge) this.#tell("trim", trimmed(hold.edge, now));
    else if (now !== null) this.#tell("mark", span(hold.frame, now));
  }

  #end() {
    if (!this.#hold) return;
    const { edge } = this.#hold;
    this.#hold = null;
    this.#tell(edge ? "trimming" : "dragging", null);
  }

  // Escape gives up what is being dragged, and nothing else.
  #pressed(event) {
    if (event.key !== "Escape" || !this.#hold) return;
    event.stopPropagation();
    this.#end();
  }

  #point(event) {
    const over = event.target.tagName === "CANVAS" && this.#edges(event, NEAR);
    this.#box.classList.toggle("on-edge", Boolean(over));
  }

  #tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}

/** The frames between two that were pointed at, both kept, as [in, out). */
export function span(one, other) {
  return [Math.min(one, other), Math.max(one, other) + 1];
}

// The frame pointed at is kept: as the first one, or as the last.
function trimmed({ id, which }, frame) {
  return { id, which, frame: which === "out_frame" ? frame + 1 : frame };
}
