// The sheet of keys behind "?": written from the table they are bound from, and each can be changed in it.

import { nameOf } from "./keys.js";
import { writeLegend } from "./lanes.js";

export class KeysDialog {
  #dialog;
  #table;
  #said;
  #keys;
  #tags;
  #legend = document.createElement("div");
  #drawLegend;
  #waiting = null; // the button of the row that waits for its new key

  /** `keys` is the KeyTable, `tags()` the production's tags with the letters they have now, `colours` the sheet's. */
  constructor(dialog, keys, tags, colours) {
    this.#dialog = dialog;
    this.#table = dialog.querySelector("#keys-table");
    this.#said = dialog.querySelector("#keys-said");
    this.#keys = keys;
    this.#tags = tags;
    this.#drawLegend = writeLegend(this.#legend, colours);
    dialog.addEventListener("click", (event) => this.#clicked(event.target.closest("button")));
    document.addEventListener("keydown", (event) => this.#pressed(event), true);
    dialog.addEventListener("cancel", (event) => this.#waiting && (event.preventDefault(), this.#stop()));
    dialog.addEventListener("close", () => this.#stop());
    keys.addEventListener("change", () => this.#write());
    this.#write();
  }

  open() {
    this.#say("");
    this.#drawLegend();
    this.#dialog.showModal();
  }

  #write() {
    const tagged = this.#tags().filter((tag) => tag.key);
    this.#table.replaceChildren(
      ...[...grouped(this.#keys.rows)].map(([group, rows]) => table(group, rows.map((row) => this.#row(row)))),
      table("Tags", tagged.map((tag) => [caps([tag.key.toUpperCase()]), tag.name])),
      this.#legend,
    );
  }

  #row({ intent, keys, words }) {
    const change = button("Change", { give: intent }, `Change the key of: ${words}`);
    const buttons = [change];
    if (this.#keys.isOwn(intent)) buttons.push(button("Usual", { back: intent }, `Give back the usual key of: ${words}`));
    return [caps(keys), words, ...buttons];
  }

  #clicked(pressed) {
    const { give, back } = pressed?.dataset ?? {};
    this.#stop();
    if (give) {
      this.#waiting = pressed;
      pressed.setAttribute("aria-pressed", "true");
      this.#say("Press the new key. Escape leaves it as it is.");
    } else if (back) {
      this.#keys.giveBack(back).then((refused) => this.#done(back, refused));
    }
  }

  // While a row waits for its key, no key does anything else.
  #pressed(event) {
    if (!this.#waiting || ["Shift", "Control", "Alt", "Meta", "Tab"].includes(event.key)) return;
    event.preventDefault();
    event.stopPropagation();
    const intent = this.#waiting.dataset.give;
    this.#stop();
    if (event.key === "Escape") return this.#say("");
    const key = nameOf(event);
    this.#keys.give(intent, key).then((refused) => this.#done(intent, refused, key));
  }

  #done(intent, refused, key = "") {
    const tag = /^[A-Z]$/.test(key) && this.#tags().find((each) => each.usualKey === key.toLowerCase());
    const lost = tag ? ` The tag “${tag.name}” has no key now: click it, or type it.` : "";
    this.#say(refused || `Kept: it holds wherever you sign in.${lost}`, Boolean(refused));
    this.#table.querySelector(`[data-give="${intent}"]`)?.focus();
  }

  #stop() {
    this.#waiting?.removeAttribute("aria-pressed");
    this.#waiting = null;
  }

  #say(words, bad = false) {
    this.#said.textContent = words;
    this.#said.className = bad ? "alarm" : "faint";
  }
}

function grouped(rows) {
  const groups = new Map();
  for (const row of rows) groups.set(row.group, [...(groups.get(row.group) ?? []), row]);
  return groups;
}

function table(caption, rows) {
  const made = document.createElement("table");
  made.createCaption().textContent = caption;
  for (const cells of rows) {
    const [keys, words, ...buttons] = cells;
    const row = made.insertRow();
    row.insertCell().append(keys);
    row.insertCell().textContent = words;
    if (buttons.length) row.insertCell().append(...buttons);
  }
  return made;
}

function caps(keys) {
  const made = document.createElement("span");
  if (!keys.length) made.textContent = "none";
  keys.forEach((key, at) => {
    const cap = document.createElement("kbd");
    cap.textContent = key;
    made.append(at ? " " : "", cap);
  });
  return made;
}

function button(words, data, label) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "small quiet";
  made.textContent = words;
  made.setAttribute("aria-label", label);
  Object.assign(made.dataset, data);
  return made;
}
