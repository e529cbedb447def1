// The clip's selects as a list beside the sheet. Only what differs from last time is written again.

const STANDINGS = {
  saved: ["✓", "saved"],
  keeping: ["…", "being kept"],
  kept: ["●", "kept here"],
  sending: ["→", "on its way"],
  refused: ["✕", "not saved"],
};

/** Speaks up with "choose" (id), "also" (id): choose it beside the others, and "drop" (id): give it up. */
export class SelectList extends EventTarget {
  #list;
  #label;
  #standing;
  #origin;
  #items = new Map(); // id -> {element, words}: as it was written last
  #active = null;

  /**
   * `label(frame)` gives the timecode; `standing(id)` says where a select stands: {name, why}; `origin(select)` the
   * camera that it was carried from, or null.
   */
  constructor(list, label, standing, origin) {
    super();
    this.#list = list;
    this.#label = label;
    this.#standing = standing;
    this.#origin = origin;
    list.addEventListener("click", (event) => {
      const id = event.target.closest("li[data-id]")?.dataset.id;
      if (!id) return;
      const many = event.shiftKey || event.ctrlKey || event.metaKey;
      const name = event.target.closest("button") ? "drop" : many ? "also" : "choose";
      this.dispatchEvent(new CustomEvent(name, { detail: id }));
    });
  }

  /** Show selects in this order; `active` is the one that is worked on, `also` (a Set) the others that are chosen. */
  show(selects, active, also) {
    const items = new Map(selects.map((select) => [select.id, this.#item(select, active, also)]));
    this.#items = items;
    const wanted = items.size ? [...items.values()].map(({ element }) => element) : [nothing()];
    const there = [...this.#list.children];
    if (wanted.length !== there.length || wanted.some((element, at) => element !== there[at])) {
      this.#list.replaceChildren(...wanted);
    }
    if (active && active !== this.#active) items.get(active)?.element.scrollIntoView({ block: "nearest" });
    this.#active = active;
  }

  #item(select, active, also) {
    const { name, why } = this.#standing(select.id);
    const chosen = select.id === active ? "active" : also.has(select.id) ? "also" : "";
    const { in_frame, out_frame, tags, note, rating, logger } = select;
    const origin = this.#origin(select);
    const fate = [select.in_cuts?.join(", ") ?? "", Boolean(select.worth_keeping)];
    const words = JSON.stringify([in_frame, out_frame, tags, note, rating, logger, name, why, chosen, origin, fate]);
    const before = this.#items.get(select.id);
    return before?.words === words ? before : { words, element: this.#write(select, { name, why, chosen, origin }) };
  }

  #write(select, { name, why, chosen, origin }) {
    const item = document.createElement("li");
    item.dataset.id = select.id;
    if (chosen) item.classList.add(chosen);
    if (chosen === "active") item.setAttribute("aria-current", "true");
    const [sign, words] = STANDINGS[name];
    const standing = part("span", `standing ${name}`, `${sign} ${words}`);
    item.append(
      part("span", "tc", `${this.#label(select.in_frame)} – ${this.#label(select.out_frame)}`),
      part("span", "rated", select.rating ? `rated ${select.rating}` : ""),
      this.#words(select),
      part("span", "by", origin ? `${select.logger}, carried from ${origin}` : select.logger),
      standing,
    );
    if (select.note) item.append(part("p", "", select.note));
    if (name === "refused") {
      const refusal = part("p", "alarm", `Not saved: ${why} `);
      refusal.append(part("button", "small", "Give it up"));
      item.append(refusal);
    }
    return item;
  }

  #words({ tags, in_cuts, worth_keeping }) {
    const words = part("span", "", "");
    if (in_cuts?.length) words.append(Object.assign(part("span", "in-cut", "in the cut"), { title: in_cuts.join(", ") }), " ");
    if (worth_keeping) words.append(part("span", "is-kept", "worth keeping"), " ");
    for (const name of tags) words.append(part("span", "tag", name), " ");
    return words;
  }
}

function nothing() {
  return part("li", "none", "Nothing marked yet: I marks in, O marks out, Enter catches the last seconds.");
}

function part(name, className, text) {
  const made = document.createElement(name);
  if (className) made.className = className;
  made.textContent = text;
  return made;
}
