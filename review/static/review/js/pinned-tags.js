// Tags that stay on for a run of selects, until they are unpinned; over clips too, in this tab.

import { same } from "./tag-rules.js";

const KEPT = "rushlight-pinned-tags";

export class PinnedTags {
  #box;
  #button;
  #tags = [];

  /** Shows itself in `box`; `known` are the production's tags: a word that it does not have is not pinned here. */
  constructor(box, button, known) {
    this.#box = box;
    this.#button = button;
    this.#tags = read().filter((name) => known.some((tag) => same(tag.name, name)));
    this.#show();
  }

  get tags() {
    return [...this.#tags];
  }

  /** Pin these tags, or let go of those that are pinned. Returns false where there is nothing to pin. */
  toggle(tags) {
    if (!this.#tags.length && !tags.length) return false;
    this.#tags = this.#tags.length ? [] : [...tags];
    write(this.#tags);
    this.#show();
    return true;
  }

  #show() {
    const many = this.#tags.length;
    this.#button.setAttribute("aria-pressed", String(many > 0));
    this.#box.hidden = !many;
    this.#box.textContent = many ? `Pinned: every new select gets ${this.#tags.join(", ")}.` : "";
  }
}

function read() {
  try {
    const kept = JSON.parse(sessionStorage.getItem(KEPT) ?? "[]");
    return Array.isArray(kept) ? kept.filter((name) => typeof name === "string") : [];
  } catch {
    return []; // this browser keeps nothing
  }
}

function write(tags) {
  try {
    sessionStorage.setItem(KEPT, JSON.stringify(tags));
  } catch {
    // then they are pinned for this page only
  }
}
