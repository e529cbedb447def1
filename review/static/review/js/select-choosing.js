// Adding to a list: those whose boxes are ticked, the one that is played, or everything that was found.

import { call } from "./api.js";

const AT_ONCE = 500; // the most that the surface gives a page

export class Choosing {
  #form;
  #facts;
  #rows;
  #target;

  /** `form` has the boxes, the list to add to, and the line that says what was added; `rows` are what was found. */
  constructor(form, facts, rows) {
    this.#form = form;
    this.#facts = facts;
    this.#rows = rows;
    this.#target = form.querySelector("#target");
    const before = this.#remembered;
    if ([...this.#target.options].some(({ value }) => value && value === before)) this.#target.value = before;
    form.addEventListener("change", (event) => this.#changed(event.target));
    form.addEventListener("submit", (event) => (event.preventDefault(), this.#addChosen()));
    form.querySelector("#add-all")?.addEventListener("click", () => this.#addAll());
    rows.addEventListener("choose", () => (this.#forget(), this.#showChosen()));
    this.grown();
  }

  /** More rows are there, or they are on other lists than before. */
  grown() {
    const { value, selectedOptions } = this.#target;
    const list = value ? { id: Number(value), name: selectedOptions[0].text } : null;
    this.#rows.showListed(list);
    this.#part("new-name-label").hidden = Boolean(list);
    document.getElementById("add-one-words").textContent = `Add to ${list?.name ?? "a new list"}`;
    this.#showChosen();
  }

  /** Add selects, by their ids, and say so at `place`. Resolves to whether they are there. */
  async add(ids, place = this.#part("added")) {
    try {
      const { id, name, added } = await this.#send(ids);
      if (!this.#target.value) this.#target.add(new Option(name, id, false, true), 0);
      this.#remembered = id;
      for (const row of this.#rows.all) if (ids.includes(row.id) && !row.lists.includes(id)) row.lists.push(id);
      this.grown();
      const link = Object.assign(document.createElement("a"), { href: `/lists/${id}/`, textContent: name });
      say(place, addedWords(ids.length, added), link);
      return true;
    } catch (problem) {
      this.#alarm(place, problem.message);
      if (!this.#target.value) this.#part("new-name").focus();
      return false;
    }
  }

  // Resolves to the list, with how many were new on it.
  async #send(selects) {
    const { lists, production } = this.#facts;
    if (this.#target.value) return call("POST", `${lists}${this.#target.value}/add/`, { selects });
    const name = this.#part("new-name").value.trim();
    if (!name) throw new Error("Give the new list a name first.");
    const made = await call("POST", lists, { name, production, selects });
    return { ...made, added: selects.length };
  }

  async #addChosen() {
    const ticked = this.#ticked.map((box) => box.value);
    const ids = ticked.length ? ticked : this.#rows.chosen ? [this.#rows.chosen.id] : [];
    if (!ids.length) return this.#alarm(this.#part("added"), "Tick the selects to add, or choose one with ↓.");
    if (!(await this.add(ids))) return;
    for (const box of this.#boxes) box.checked = false;
    this.#showChosen();
    this.#part("new-name").value = "";
    this.#part("new-name").blur(); // the keys are the page's again
  }

  async #addAll() {
    const button = this.#form.querySelector("#add-all");
    button.disabled = true;
    try {
      const ids = [];
      let address = `${this.#facts.api}?${this.#facts.query}&page_size=${AT_ONCE}`;
      while (address) {
        const { results, next } = await call("GET", address);
        ids.push(...results.map(({ id }) => id));
        address = next;
      }
      await this.add(ids);
    } catch (problem) {
      this.#alarm(this.#part("added"), problem.message);
    } finally {
      button.disabled = false;
    }
  }

  // The list that was added to last: the next search adds to it as well, where the browser remembers anything.
  get #remembered() {
    try {
      return sessionStorage.getItem(`rushlight-list-${this.#facts.production}`);
    } catch {
      return null;
    }
  }

  set #remembered(list) {
    try {
      sessionStorage.setItem(`rushlight-list-${this.#facts.production}`, list);
    } catch {
      // it is chosen again by hand
    }
  }

  get #boxes() {
    return [...this.#form.querySelectorAll("[name=select]")];
  }

  get #ticked() {
    return this.#boxes.filter((box) => box.checked);
  }

  #changed(target) {
    if (target.id === "all") for (const box of this.#boxes) box.checked = target.checked;
    this.#forget();
    if (target !== this.#target) return this.#showChosen();
    this.grown();
    if (!target.value) this.#part("new-name").focus();
  }

  // What was told is no longer of what is chosen now.
  #forget() {
    say(this.#part("added"));
    say(document.getElementById("added-one"));
  }

  // What is told last has the place of how many are chosen, so that nothing moves.
  #showChosen() {
    const many = this.#ticked.length;
    this.#part("how-many").textContent = many ? `${many} chosen` : "none chosen";
    const here = this.#rows.chosen ? "Add this one" : "Add";
    this.#form.querySelector("button.main").textContent = many ? `Add ${many}` : here;
    this.#part("all").checked = many > 0 && many === this.#boxes.length;
  }

  #alarm(place, words) {
    say(place, words);
    place.className = "alarm";
  }

  #part(id) {
    return this.#form.querySelector(`#${id}`);
  }
}

function addedWords(asked, added) {
  if (added === asked) return asked === 1 ? "Added to " : `${asked} added to `;
  if (!added) return asked === 1 ? "Already on " : `All ${asked} are already on `;
  return `${added} added, the others were on `;
}

function say(place, ...words) {
  place.className = "";
  place.replaceChildren(...words);
}
