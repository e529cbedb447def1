// The clip's selects as a list beside the sheet. Only what differs from last time is written again.

export class SelectList extends EventTarget {
  #list;
  #label;
  #refused;

  /** `label(frame)` gives the timecode; `refused` maps ids to what the server said against them. */
  constructor(list, label, refused) {
    super();
    this.#list = list;
    this.#label = label;
    this.#refused = refused;
    list.addEventListener("click", (event) => {
      const id = event.target.closest("li[data-id]")?.dataset.id;
      if (!id) return;
      const name = event.target.closest("button") ? "drop" : "choose";
      this.dispatchEvent(new CustomEvent(name, { detail: id }));
    });
  }

  show(selects, active) {
    if (!selects.length) {
      const none = document.createElement("li");
      none.className = "none";
      none.textContent = "Nothing marked yet: I marks in, O marks out.";
      this.#list.replaceChildren(none);
      return;
    }
    this.#list.replaceChildren(...selects.map((select) => this.#item(select, select.id === active)));
    if (active) this.#list.querySelector(".active")?.scrollIntoView({ block: "nearest" });
  }

  #item(select, active) {
    const item = document.createElement("li");
    item.dataset.id = select.id;
    item.classList.toggle("active", active);
    if (active) item.setAttribute("aria-current", "true");
    item.append(
      part("span", "tc", `${this.#label(select.in_frame)} – ${this.#label(select.out_frame)}`),
      part("span", "rated", select.rating ? `rated ${select.rating}` : ""),
      this.#tags(select.tags),
      part("span", "by", select.logger),
    );
    if (select.note) item.append(part("p", "", select.note));
    const refusal = this.#refused.get(select.id);
    if (refusal) {
      const words = part("p", "alarm", `Not saved: ${refusal.message} `);
      words.append(part("button", "small", "Give it up"));
      item.append(words);
    }
    return item;
  }

  #tags(names) {
    const tags = part("span", "", "");
    for (const name of names) tags.append(part("span", "tag", name), " ");
    return tags;
  }
}

function part(name, className, text) {
  const made = document.createElement(name);
  if (className) made.className = className;
  made.textContent = text;
  return made;
}
