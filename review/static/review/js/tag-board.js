// The production's tags as a board of buttons, in their groups.

import { onBoard, same } from "./tag-rules.js";

export class TagBoard extends EventTarget {
  #box;
  #tags;

  /** `tags` are {name, group, key}. Speaks up with "toggle" (a tag's name). */
  constructor(box, tags) {
    super();
    this.#box = box;
    this.#tags = [...tags];
    box.addEventListener("click", (event) => {
      const name = event.target.closest("[data-tag]")?.dataset.tag;
      if (name) this.dispatchEvent(new CustomEvent("toggle", { detail: name }));
    });
    this.#layOut();
  }

  get tags() {
    return this.#tags;
  }

  /** The same tags, with other keys. */
  replace(tags) {
    this.#tags = [...tags];
    this.#layOut();
  }

  /** Show which tags are set. A word that came from elsewhere, or was typed just now, joins the board. */
  show(names) {
    const unknown = names.filter((name) => !this.#tags.some((tag) => same(tag.name, name)));
    if (unknown.length) {
      this.#tags.push(...unknown.map((name) => ({ name, group: "", key: "" })));
      this.#layOut();
    }
    for (const button of this.#box.querySelectorAll("[data-tag]")) {
      button.setAttribute("aria-pressed", String(names.some((name) => same(name, button.dataset.tag))));
    }
  }

  #layOut() {
    this.#box.replaceChildren(...onBoard(this.#tags).map(([group, tags]) => row(group, tags)));
  }
}

function row(group, tags) {
  const made = document.createElement("div");
  made.setAttribute("role", "group");
  made.setAttribute("aria-label", group);
  const title = document.createElement("span");
  title.className = "group";
  title.textContent = group;
  const buttons = document.createElement("span");
  buttons.append(...tags.map(button));
  made.append(title, buttons);
  return made;
}

function button({ name, key }) {
  const made = document.createElement("button");
  made.type = "button";
  made.dataset.tag = name;
  made.setAttribute("aria-pressed", "false");
  made.textContent = name;
  if (key) {
    const cap = document.createElement("kbd");
    cap.textContent = key.toUpperCase();
    made.append(" ", cap);
  }
  return made;
}
