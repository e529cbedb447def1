// Adding to a list: those whose boxes are ticked, the one that is played, or everything that was found.

import { call } from "./api.js";

const AT_ONCE = 500; // the most that the surface gives a page

export class Choosing {
  #form;
  #facts;
  #target;

  /** `form` has the boxes, the list to add to, and the line that says what was added. */
  constructor(form, facts) {
    this.#form = form;
    this.#facts = facts;
    this.#target = form.querySelector("#target");
    const before = this.#remembered;
    if ([...this.#target.options].some(({ value }) => value && value === before)) this.#target.value = before;
    form.addEventListener("change", (event) => this.#changed(event.target));
    form.addEventListener("submit", (event) => (event.preventDefault(), this.#addChosen()));
    form.querySelector("#add-all")?.addEventListener("click", () => this.#addAll());
    this.show();
  }

  /** Say how many are chosen: boxes may have come. */
  show() {
    const many = this.#chosen.length;
    this.#part("how-many").textContent = many ? `${many} chosen` : "none chosen";
    this.#form.querySelector("button.main").disabled = !many;
    this.#part("all").checked = many > 0 && many === this.#boxes.length;
    this.#part("new-name-label").hidden = this.#target.value !== "";
  }

  /** Add selects, by their ids. Resolves to whether they are there. */
  async add(ids) {
    try {
      const made = await this.#send(ids);
      const link = Object.assign(document.createElement("a"), { href: `/lists/${made.id}/`, textContent: made.name });
      this.#say(`${ids.length === 1 ? "Added" : `${ids.length} added`} to `, link);
      if (!this.#target.value) {
        this.#target.add(new Option(made.name, made.id), 0);
        this.#target.value = made.id;
      }
      this.#remembered = this.#target.value;
      this.show();
      return true;
    } catch (problem) {
      this.#say(problem.message);
      this.#part("added").className = "alarm";
      if (!this.#target.value && !this.#part("new-name").value.trim()) this.#part("new-name").focus();
      return false;
    }
  }

  #send(selects) {
    const { lists, production } = this.#facts;
    if (this.#target.value) return call("POST", `${lists}${this.#target.value}/add/`, { selects });
    return call("POST", lists, { name: this.#part("new-name").value, production, selects });
  }

  async #addChosen() {
    if (!(await this.add(this.#chosen.map((box) => box.value)))) return;
    for (const box of this.#boxes) box.checked = false;
    this.show();
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
      this.#say(problem.message);
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

  get #chosen() {
    return this.#boxes.filter((box) => box.checked);
  }

  #changed(target) {
    if (target.id === "all") for (const box of this.#boxes) box.checked = target.checked;
    this.show();
  }

  #say(...words) {
    this.#part("added").className = "";
    this.#part("added").replaceChildren(...words);
  }

  #part(id) {
    return this.#form.querySelector(`#${id}`);
  }
}
