// The form beside the picture: what the active select says.

import { TAKEN } from "./keys.js";

export class MarkForm extends EventTarget {
  #form;
  #tags;
  #select = null;

  /** `tags` are the production's: {name, group, key}. Speaks up with "change" {changes} and "done". */
  constructor(form, tags) {
    super();
    this.#form = form;
    this.#tags = tags.map((tag) => ({ ...tag, key: TAKEN.has(tag.key.toUpperCase()) ? "" : tag.key }));
    this.#listen();
    this.#layOutTags();
  }

  get tags() {
    return this.#tags;
  }

  /** Show a select (undefined for none) and how to call it. */
  show(select, title) {
    const other = select?.id !== this.#select?.id;
    this.#select = select ?? null;
    this.#part("#about").disabled = !select;
    this.#part("#about-which").textContent = title;
    const note = this.#part("#note");
    if (other || document.activeElement !== note) note.value = select?.note ?? "";
    for (const button of this.#form.querySelectorAll("[data-rating]")) {
      button.setAttribute("aria-pressed", String(Number(button.dataset.rating) <= (select?.rating ?? 0)));
    }
    for (const name of select?.tags ?? []) this.#know(name);
    for (const button of this.#form.querySelectorAll("[data-tag]")) {
      button.setAttribute("aria-pressed", String(this.#has(button.dataset.tag)));
    }
  }

  /** Set or take away the tag on this letter; false if no tag has it. */
  toggleKey(letter) {
    const tag = this.#tags.find((each) => each.key === letter);
    if (tag) this.#toggle(tag.name);
    return Boolean(tag);
  }

  writeNote() {
    if (this.#select) this.#part("#note").focus();
  }

  #part(selector) {
    return this.#form.querySelector(selector);
  }

  #has(name) {
    return (this.#select?.tags ?? []).some((each) => each.toLowerCase() === name.toLowerCase());
  }

  #toggle(name) {
    if (!this.#select) return;
    const tags = this.#select.tags;
    const without = tags.filter((each) => each.toLowerCase() !== name.toLowerCase());
    this.#change({ tags: without.length < tags.length ? without : [...tags, name] });
  }

  #change(changes) {
    this.dispatchEvent(new CustomEvent("change", { detail: changes }));
  }

  #listen() {
    this.#form.addEventListener("submit", (event) => event.preventDefault());
    this.#form.addEventListener("click", (event) => {
      const { rating, tag } = event.target.closest("button")?.dataset ?? {};
      if (rating) this.#change({ rating: this.#select?.rating === Number(rating) ? 0 : Number(rating) });
      if (tag) this.#toggle(tag);
    });
    const note = this.#part("#note");
    note.addEventListener("change", () => this.#change({ note: note.value }));
    note.addEventListener("keydown", (event) => {
      if (event.key === "Escape" || (event.key === "Enter" && (event.ctrlKey || event.metaKey))) this.#leave(note);
    });
    const tag = this.#part("#tag");
    tag.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.#leave(tag);
      if (event.key !== "Enter") return;
      event.preventDefault();
      const name = tag.value.trim().replace(/\s+/g, " ");
      if (name && !this.#has(name)) this.#toggle(name);
      tag.value = "";
    });
  }

  #leave(field) {
    field.blur();
    this.dispatchEvent(new Event("done"));
  }

  // A word that came from elsewhere, or was typed just now, joins the board.
  #know(name) {
    if (this.#tags.some((tag) => tag.name.toLowerCase() === name.toLowerCase())) return;
    this.#tags.push({ name, group: "", key: "" });
    this.#layOutTags();
  }

  #layOutTags() {
    const groups = new Map();
    for (const tag of this.#tags) groups.set(tag.group, [...(groups.get(tag.group) ?? []), tag]);
    this.#part("#tags").replaceChildren(...[...groups].map(([group, tags]) => this.#row(group, tags)));
    this.#part("#known-tags").replaceChildren(
      ...this.#tags.map((tag) => Object.assign(document.createElement("option"), { value: tag.name })),
    );
  }

  #row(group, tags) {
    const row = document.createElement("div");
    const title = document.createElement("span");
    title.className = "group";
    title.textContent = group || "other";
    row.append(title);
    for (const tag of tags) {
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.tag = tag.name;
      button.setAttribute("aria-pressed", "false");
      button.textContent = tag.name;
      if (tag.key) {
        const cap = document.createElement("kbd");
        cap.textContent = tag.key.toUpperCase();
        button.append(" ", cap);
      }
      row.append(button);
    }
    return row;
  }
}
