// Pieces of a split that are dragged to a logger's row.

const FAR = 5; // pixels, below which a press is not a drag
const EDGE = 40; // pixels from the top or bottom of the window, where the page goes on under the pointer
const STEP = 14; // pixels of that, for each picture

/**
 * Pieces are taken by their grip; with a mouse, by any place of their row that does nothing else.
 *
 * `taken(row)` gives the rows that go along; `over(target, rows)` shows what a drop on a row of `targets` would do, and
 * with null that it would do nothing; `dropped(target, rows)` does it. Escape, or a drop elsewhere, changes nothing.
 */
export class PieceDrag {
  #rows;
  #targets;
  #told;
  #held = null; // {row, pointer, x, y}: pressed, and perhaps not moved yet
  #ghost = null;
  #moving = [];
  #target = null;
  #place = { x: 0, y: 0 };

  constructor(rows, targets, { taken, over, dropped }) {
    this.#rows = rows;
    this.#targets = targets;
    this.#told = { taken, over, dropped };
    rows.addEventListener("pointerdown", (event) => this.#press(event));
    rows.addEventListener("lostpointercapture", ({ target }) => target === rows && this.#end()); // a finger's grip loses it, too
    document.addEventListener("pointermove", (event) => this.#move(event));
    document.addEventListener("pointerup", (event) => this.#letGo(event));
    document.addEventListener("pointercancel", ({ pointerId }) => pointerId === this.#held?.pointer && this.#end());
    rows.addEventListener("dragstart", (event) => this.#held && event.preventDefault());
    document.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !this.#ghost) return;
      event.preventDefault();
      this.#end();
    });
  }

  #press(event) {
    const row = event.target.closest("tr");
    const grip = event.target.closest(".grip");
    if (!event.isPrimary || event.button || !row || this.#held) return;
    if (!grip && (event.pointerType !== "mouse" || event.target.closest("a, input, .tc"))) return; // a timecode can be copied
    this.#held = { row, pointer: event.pointerId, x: event.clientX, y: event.clientY };
  }

  #move({ pointerId, clientX: x, clientY: y, buttons }) {
    if (pointerId !== this.#held?.pointer) return;
    if (!buttons) return this.#end();
    if (!this.#ghost && Math.hypot(x - this.#held.x, y - this.#held.y) < FAR) return;
    this.#place = { x, y };
    if (!this.#ghost) this.#begin();
    this.#show();
  }

  #begin() {
    this.#moving = this.#told.taken(this.#held.row);
    this.#rows.setPointerCapture(this.#held.pointer);
    getSelection().removeAllRanges();
    const board = this.#board;
    const high = board.offsetHeight;
    document.body.classList.add("dragging");
    board.style.marginBottom = `${high - board.offsetHeight}px`; // it may be lower now, and nothing below it moves
    for (const row of this.#moving) row.classList.add("dragged");
    const first = this.#moving[0].querySelector("th a").textContent;
    const others = this.#moving.length - 1;
    this.#ghost = Object.assign(document.createElement("div"), { className: "ghost" });
    this.#ghost.textContent = others ? `${first} and ${others} more` : first;
    document.body.append(this.#ghost);
    requestAnimationFrame(() => this.#goOn());
  }

  #show() {
    const { x, y } = this.#place;
    this.#ghost.style.transform = `translate(${x + 14}px, ${y + 10}px)`;
    const under = document.elementFromPoint(x, y)?.closest("tr");
    const target = under && under.parentElement === this.#targets ? under : null;
    if (target === this.#target) return;
    this.#target?.classList.remove("drop-here");
    target?.classList.add("drop-here");
    this.#target = target;
    this.#told.over(target, this.#moving);
  }

  // The page, and a long table of loggers, go on under a pointer that is held at their edge.
  #goOn() {
    if (!this.#ghost) return;
    const { x, y } = this.#place;
    const by = y < EDGE ? -STEP : y > innerHeight - EDGE ? STEP : 0;
    const board = this.#board;
    const { left, right, top, bottom } = board.getBoundingClientRect();
    if (x > left && x < right && y > top && y < bottom && board.scrollHeight > board.clientHeight) {
      if (y > bottom - EDGE) board.scrollTop += STEP;
      else if (y < top + EDGE) board.scrollTop -= STEP;
    } else if (by) {
      scrollBy(0, by);
    }
    this.#show();
    requestAnimationFrame(() => this.#goOn());
  }

  #letGo({ pointerId }) {
    if (pointerId !== this.#held?.pointer) return;
    const [target, moving] = [this.#target, this.#moving];
    this.#end();
    if (target) this.#told.dropped(target, moving);
  }

  #end() {
    if (!this.#held) return;
    const { pointer } = this.#held;
    this.#held = null;
    if (!this.#ghost) return;
    this.#ghost.remove();
    this.#ghost = null;
    document.body.classList.remove("dragging");
    this.#board.style.marginBottom = "";
    this.#target?.classList.remove("drop-here");
    for (const row of this.#moving) row.classList.remove("dragged");
    this.#target = null;
    this.#moving = [];
    this.#told.over(null, []);
    if (this.#rows.hasPointerCapture(pointer)) this.#rows.releasePointerCapture(pointer);
  }

  get #board() {
    return this.#targets.closest(".targets");
  }
}
