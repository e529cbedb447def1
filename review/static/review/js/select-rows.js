// The rows of what was found, or its pictures: which one is chosen, what follows it, and the pages that come after.

/** Events: "choose" (a row), "click" {row, play} (on its picture, to play it), "grown" (more rows are there). */
export class Rows extends EventTarget {
  #box;
  #rows;
  #next; // the address of the page after those that are here, or null
  #chosen = null;
  #growing = null;

  /** `box` holds an element with `data-id` for each of `rows`. */
  constructor(box, rows, next) {
    super();
    this.#box = box;
    this.#rows = rows;
    this.#next = next;
    box.addEventListener("click", (event) => this.#clicked(event));
  }

  get all() {
    return this.#rows;
  }

  get chosen() {
    return this.#chosen;
  }

  element(row) {
    return this.#box.querySelector(`[data-id="${row.id}"]`);
  }

  choose(row) {
    if (this.#chosen) this.#mark(this.#chosen, false);
    this.#chosen = row;
    this.#mark(row, true);
    this.element(row).scrollIntoView({ block: "nearest" });
    this.dispatchEvent(new CustomEvent("choose", { detail: row }));
  }

  /** The row after a row (or before it), past the end of the page if there is more; null if there is none. */
  async beside(row, direction = 1) {
    const at = row ? this.#rows.indexOf(row) + direction : 0;
    if (at >= this.#rows.length) await this.#grow();
    return this.#rows[at] ?? null;
  }

  /** Show a select as it now is. */
  update(select) {
    const row = this.#rows.find(({ id }) => id === select.id);
    if (!row) return null;
    const { note, tags } = row;
    Object.assign(row, select);
    const element = this.element(row);
    element.querySelector(".rated").textContent = row.rating || "";
    element.querySelector(".is-kept").hidden = !row.worth_keeping;
    // As long as they are what was found, they show the words that were.
    if (row.note !== note) element.querySelector(".its-note").textContent = row.note;
    if (`${row.tags}` !== `${tags}`) {
      element.querySelector(".its-tags").replaceChildren(...row.tags.flatMap((name) => [tag(name), " "]));
    }
    return row;
  }

  /** Say of each row whether it is on a list: {id, name}, or null for none. */
  showListed(list) {
    for (const row of this.#rows) {
      const said = this.element(row).querySelector(".on-list");
      said.hidden = !list || !row.lists.includes(list.id);
      said.textContent = said.hidden ? "" : `on ${list.name}`;
    }
  }

  #mark(row, on) {
    const element = this.element(row);
    element?.classList.toggle("now", on);
    if (on) element?.setAttribute("aria-current", "true");
    else element?.removeAttribute("aria-current");
  }

  #clicked(event) {
    const id = event.target.closest("[data-id]")?.dataset.id;
    if (!id || event.target.closest("a, input, label")) return;
    const row = this.#rows.find((each) => each.id === id);
    const play = Boolean(event.target.closest(".play-here"));
    this.dispatchEvent(new CustomEvent("click", { detail: { row, play } }));
  }

  // The next page as the server writes it: its rows are put after these.
  #grow() {
    if (!this.#next) return null;
    return (this.#growing ??= this.#fetch(this.#next).finally(() => (this.#growing = null)));
  }

  async #fetch(address) {
    const answer = await fetch(address).catch(() => null);
    if (!answer?.ok) return; // the server is away: it is asked for again the next time
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const facts = page.getElementById("selects-facts");
    if (!facts) return;
    const { rows, next } = JSON.parse(facts.textContent);
    const known = new Set(this.#rows.map(({ id }) => id));
    for (const row of rows) {
      if (known.has(row.id)) continue;
      this.#box.append(document.adoptNode(page.querySelector(`[data-id="${row.id}"]`)));
      this.#rows.push(row);
    }
    this.#next = next;
    this.dispatchEvent(new CustomEvent("grown", { detail: next }));
  }
}

function tag(name) {
  return Object.assign(document.createElement("span"), { className: "tag", textContent: name });
}
