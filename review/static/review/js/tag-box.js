// The box that tags are typed in, with the words that may be meant under it.

import { folded, matching, tidy } from "./tag-rules.js";

const MOST = 40; // words shown

/** Speaks up with "take" (a tag's name) and "leave". */
export class TagBox extends EventTarget {
  #input;
  #list;
  #tags = () => [];
  #at = 0;

  /** `tags()` gives the tags to choose from. */
  constructor(input, list, tags) {
    super();
    this.#input = input;
    this.#list = list;
    this.#tags = tags;
    input.addEventListener("input", () => this.#offer());
    input.addEventListener("keydown", (event) => this.#pressed(event));
    input.addEventListener("blur", () => this.#close());
    list.addEventListener("mousedown", (event) => event.preventDefault()); // the box keeps the focus
    list.addEventListener("click", (event) => this.#take(event.target.closest("[role=option]")));
  }

  focus() {
    this.#input.focus();
    this.#input.select();
  }

  #pressed(event) {
    const { key } = event;
    if (key === "Escape" || (key === "Enter" && !this.#input.value.trim() && this.#list.hidden)) {
      this.#input.value = "";
      this.#close();
      this.dispatchEvent(new Event("leave"));
    } else if (key === "Enter") this.#take(event.ctrlKey || event.metaKey ? this.#list.lastChild : this.#options[this.#at]);
    else if (key === "ArrowDown" || key === "ArrowUp") this.#move(key === "ArrowDown" ? 1 : -1);
    else return;
    event.preventDefault();
  }

  get #options() {
    return [...this.#list.children];
  }

  #move(by) {
    if (this.#list.hidden) this.#offer(true);
    else this.#light((this.#at + by + this.#options.length) % this.#options.length);
  }

  // The words that fit, and last the typed one itself if no tag is called so.
  #offer(all = false) {
    const typed = tidy(this.#input.value);
    const found = typed || all ? matching(this.#tags(), typed) : [];
    const isNew = typed && !found.some((tag) => folded(tag.name) === folded(typed));
    const options = found.slice(0, MOST).map((tag) => option(tag.name, tag.group));
    if (isNew) options.push(option(typed, "new tag"));
    options.forEach((each, at) => (each.id = `${this.#list.id}-${at}`));
    this.#list.replaceChildren(...options);
    this.#list.hidden = !options.length;
    this.#input.setAttribute("aria-expanded", String(!this.#list.hidden));
    this.#light(0);
  }

  #light(at) {
    this.#at = at;
    this.#options.forEach((each, index) => each.setAttribute("aria-selected", String(index === at)));
    const lit = this.#options[at];
    if (lit) this.#input.setAttribute("aria-activedescendant", lit.id);
    else this.#input.removeAttribute("aria-activedescendant");
    lit?.scrollIntoView({ block: "nearest" });
  }

  #take(chosen) {
    if (!chosen) return;
    this.#input.value = "";
    this.#close();
    this.dispatchEvent(new CustomEvent("take", { detail: chosen.dataset.name }));
  }

  #close() {
    this.#list.replaceChildren();
    this.#list.hidden = true;
    this.#input.setAttribute("aria-expanded", "false");
    this.#input.removeAttribute("aria-activedescendant");
  }
}

function option(name, about) {
  const made = document.createElement("li");
  made.setAttribute("role", "option");
  made.dataset.name = name;
  const words = document.createElement("small");
  words.textContent = about;
  made.append(name, " ", words);
  return made;
}
