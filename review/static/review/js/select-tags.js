// The production's tags that have a key, and those a select has, as buttons beside the player.

import { same } from "./tag-rules.js";

/** Speaks up with "toggle" (a tag's name). */
export class SelectTags extends EventTarget {
  #box;
  #tags;

  /** `taken` are the letters that no tag can have. */
  constructor(box, tags, taken) {
    super();
    this.#box = box;
    this.#tags = tags.map((tag) => ({ ...tag, key: taken.has(tag.key.toUpperCase()) ? "" : tag.key }));
    box.addEventListener("click", ({ target }) => {
      const button = target.closest("button");
      if (button) this.dispatchEvent(new CustomEvent("toggle", { detail: button.dataset.tag }));
    });
  }

  ofKey(letter) {
    return this.#tags.find(({ key }) => key === letter)?.name;
  }

  /** The names with one more, or without it. */
  toggled(names, name) {
    const there = names.some((each) => same(each, name));
    return there ? names.filter((each) => !same(each, name)) : [...names, name];
  }

  show(names) {
    const has = (name) => names.some((each) => same(each, name));
    const shown = this.#tags.filter(({ key, name }) => key || has(name));
    const held = this.#box.contains(document.activeElement) ? document.activeElement.dataset.tag : null;
    this.#box.replaceChildren(...shown.map((tag) => button(tag, has(tag.name))));
    if (held) [...this.#box.children].find(({ dataset }) => dataset.tag === held)?.focus();
  }
}

function button({ name, key }, pressed) {
  const made = Object.assign(document.createElement("button"), { type: "button", className: "small", textContent: name });
  made.dataset.tag = name;
  made.setAttribute("aria-pressed", String(pressed));
  if (key) made.append(" ", Object.assign(document.createElement("kbd"), { textContent: key.toUpperCase() }));
  return made;
}
