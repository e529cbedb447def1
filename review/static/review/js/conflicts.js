// What two people, or two tabs, changed at once: they are told, one after the other, and choose. Escape is no answer.

const ROWS = {
  Range: (select, label) => `${label(select.in_frame)} – ${label(select.out_frame)}`,
  Rating: (select) => String(select.rating || "none"),
  Tags: (select) => select.tags.join(", ") || "none",
  Note: (select) => select.note || "none",
};

export class Conflicts {
  #dialog;
  #text;
  #marks;
  #label;
  #open = []; // {id, mine: the wish that was refused, theirs: the select as the server has it}

  /** `label(frame)` gives the timecode. */
  constructor(dialog, text, marks, label) {
    this.#dialog = dialog;
    this.#text = text;
    this.#marks = marks;
    this.#label = label;
    text.tabIndex = -1;
    dialog.addEventListener("close", () => this.#answered(dialog.returnValue));
  }

  ask(id, mine, theirs) {
    this.#open = this.#open.filter((each) => each.id !== id);
    this.#open.push({ id, mine, theirs });
    this.#show();
  }

  /** It was answered elsewhere. */
  forget(id) {
    const asked = this.#dialog.open && this.#open[0]?.id === id;
    this.#open = this.#open.filter((each) => each.id !== id);
    if (asked) this.#dialog.close("");
  }

  #show() {
    const { mine, theirs } = this.#open[0];
    const [ours, other] = [mine.method === "DELETE" ? null : mine.body, theirs.deleted ? null : theirs];
    const table = document.createElement("table");
    table.append(row("th", "", "Yours", "Theirs"));
    if (!ours || !other) table.append(row("td", "", ...[ours, other].map((each) => (each ? "kept, as below" : "deleted"))));
    for (const [name, words] of Object.entries(ROWS)) {
      table.append(row("td", name, ...[ours, other].map((each) => (each ? words(each, this.#label) : "–"))));
    }
    this.#text.replaceChildren(table);
    for (const both of this.#dialog.querySelectorAll("[value=both]")) both.hidden = !ours || !other;
    this.#dialog.returnValue = "";
    if (!this.#dialog.open) this.#dialog.showModal();
    this.#text.focus(); // no button: the key that is being pressed just now is no answer
  }

  #answered(choice) {
    if (choice) {
      const { id, mine, theirs } = this.#open.shift();
      if (choice === "theirs") this.#marks.takeTheirs(id, mine, theirs);
      else if (choice === "both") this.#marks.keepBoth(id, mine, theirs);
      else this.#marks.keepMine(id, mine, theirs);
    }
    if (this.#open.length) this.#show();
  }
}

// A row of the comparison; where the two differ it says so.
function row(cell, name, mine, theirs) {
  const made = document.createElement("tr");
  const title = document.createElement("th");
  title.textContent = name;
  made.append(title, ...[mine, theirs].map((text) => Object.assign(document.createElement(cell), { textContent: text })));
  if (cell === "td") made.classList.toggle("differs", mine !== theirs);
  return made;
}
