// The form beside the picture: what the select that is worked on says.

import { PinnedTags } from "./pinned-tags.js";
import { TagBoard } from "./tag-board.js";
import { TagBox } from "./tag-box.js";
import { same } from "./tag-rules.js";

const PAUSE = 800; // ms without a letter, after which a note is written down

/** Speaks up with "change" {id, changes, together} and "done" (back to the page). */
export class MarkForm extends EventTarget {
  #form;
  #board;
  #box;
  #pinned;
  #select = null;
  #typing = null; // {id, session} while a note is being written
  #sessions = 0;
  #pause = 0;

  /** `tags` are the production's: {name, group, key}; `taken` the letters that do something else. */
  constructor(form, tags, taken) {
    super();
    this.#form = form;
    const known = withKeys(tags, taken);
    this.#board = new TagBoard(this.#part("#tags"), known);
    this.#box = new TagBox(this.#part("#tag"), this.#part("#tag-matches"), () => this.#board.tags);
    this.#pinned = new PinnedTags(this.#part("#pinned"), this.#part("#pin"), known);
    this.#listen();
  }

  get tags() {
    return this.#board.tags;
  }

  /** The letters that do something else are these now. */
  setTaken(taken) {
    this.#board.replace(withKeys(this.tags, taken));
    this.#board.show(this.#select?.tags ?? []);
  }

  /** The tags that every new select gets. */
  get pinned() {
    return this.#pinned.tags;
  }

  /** Show a select, or an open mark that has an id of its own (undefined for neither), and how to call it. */
  show(select, title) {
    const other = select?.id !== this.#select?.id;
    if (other) this.#writeDown();
    this.#select = select ?? null;
    this.#part("#about").disabled = !select;
    this.#part("#about-which").textContent = title;
    const note = this.#part("#note");
    if (other || document.activeElement !== note) note.value = select?.note ?? "";
    for (const button of this.#form.querySelectorAll("[data-rating]")) {
      button.setAttribute("aria-pressed", String(Number(button.dataset.rating) <= (select?.rating ?? 0)));
    }
    this.#board.show(select?.tags ?? []);
  }

  /** The id of the select whose note is being written, or null: what it says elsewhere is not seen now. */
  get writing() {
    if (this.#typing) return this.#typing.id;
    return document.activeElement === this.#part("#note") ? (this.#select?.id ?? null) : null;
  }

  /** Set or take away the tag on this letter; false if no tag has it. */
  toggleKey(letter) {
    const tag = this.tags.find((each) => each.key === letter);
    if (tag) this.#toggle(tag.name);
    return Boolean(tag);
  }

  writeNote() {
    if (this.#select) this.#part("#note").focus();
  }

  typeTag() {
    if (this.#select) this.#box.focus();
  }

  /** Pin the tags that are shown for the selects to come, or unpin. False where there is nothing to pin. */
  togglePin() {
    return this.#pinned.toggle(this.#select?.tags ?? []);
  }

  #part(selector) {
    return this.#form.querySelector(selector);
  }

  #toggle(name) {
    if (!this.#select) return;
    const { tags } = this.#select;
    const without = tags.filter((each) => !same(each, name));
    this.#change({ tags: without.length < tags.length ? without : [...tags, name] });
  }

  #change(changes, id = this.#select?.id, together = null) {
    if (id) this.dispatchEvent(new CustomEvent("change", { detail: { id, changes, together } }));
  }

  #listen() {
    this.#form.addEventListener("submit", (event) => event.preventDefault());
    this.#form.addEventListener("click", (event) => {
      const { rating } = event.target.closest("button")?.dataset ?? {};
      if (rating) this.#change({ rating: this.#select?.rating === Number(rating) ? 0 : Number(rating) });
    });
    this.#board.addEventListener("toggle", ({ detail: name }) => this.#toggle(name));
    this.#box.addEventListener("take", ({ detail: name }) => {
      if (!this.#select?.tags.some((each) => same(each, name))) this.#toggle(name);
    });
    this.#box.addEventListener("leave", () => this.#leave(this.#part("#tag")));
    this.#listenToNote(this.#part("#note"));
  }

  // What is typed is written down at every pause; from focus to focus it is one step of undo.
  #listenToNote(note) {
    note.addEventListener("input", () => {
      this.#typing ??= { id: this.#select?.id, session: `note ${(this.#sessions += 1)}` };
      clearTimeout(this.#pause);
      this.#pause = setTimeout(() => this.#writeDown(true), PAUSE);
    });
    note.addEventListener("blur", () => this.#writeDown());
    note.addEventListener("keydown", (event) => {
      if (event.key === "Escape" || (event.key === "Enter" && (event.ctrlKey || event.metaKey))) this.#leave(note);
    });
  }

  #writeDown(goingOn = false) {
    clearTimeout(this.#pause);
    if (!this.#typing) return;
    const { id, session } = this.#typing;
    if (!goingOn) this.#typing = null;
    this.#change({ note: this.#part("#note").value }, id, session);
  }

  #leave(field) {
    field.blur();
    this.dispatchEvent(new Event("done"));
  }
}

// A tag's own letter is its key unless the page, or this person, has that letter for something else.
function withKeys(tags, taken) {
  return tags.map((tag) => {
    const usualKey = tag.usualKey ?? tag.key;
    return { ...tag, usualKey, key: taken.has(usualKey.toUpperCase()) ? "" : usualKey };
  });
}
