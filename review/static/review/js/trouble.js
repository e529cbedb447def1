// What stands in the way, in one place of the page: what is said of the last act stays beside what hinders sending.

export class Trouble {
  #box;
  #words = { sending: "", said: "" };

  constructor(box) {
    this.#box = box;
  }

  say(words) {
    this.#show({ said: words });
  }

  /** The link {href, words} is what to do about it. */
  sending(words, link) {
    this.#show({ sending: words }, link);
  }

  #show(changes, link) {
    Object.assign(this.#words, changes);
    const words = Object.values(this.#words).filter(Boolean).join(" ");
    this.#box.textContent = words;
    this.#box.hidden = !words;
    if (link) this.#box.append(" ", newTab(link));
  }
}

function newTab({ href, words }) {
  return Object.assign(document.createElement("a"), { href, textContent: words, target: "_blank" });
}
