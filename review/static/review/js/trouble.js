// What the page has to say: of the last act, at the picture; of what hinders sending, at the list of selects. Both lie
// over what is there, so that nothing moves under the hand.

export class Trouble {
  #said;
  #sending;

  constructor(said, sending) {
    this.#said = said;
    this.#sending = sending;
  }

  say(words) {
    show(this.#said, words);
  }

  /** The link {href, words} is what to do about it. */
  sending(words, link) {
    show(this.#sending, words);
    if (link) this.#sending.append(" ", newTab(link));
  }
}

function show(box, words) {
  box.textContent = words;
  box.hidden = !words;
}

function newTab({ href, words }) {
  return Object.assign(document.createElement("a"), { href, textContent: words, target: "_blank" });
}
