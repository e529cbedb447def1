// The flag "worth keeping" where a select stands among others: in a dialog, which keeps what is typed when it closes.

import { keepingControl } from "./keeping.js";

/** Speaks up with "kept" {id, kept}: what the server has by now, {people, rights} or null. */
export class KeepingDialog extends EventTarget {
  #dialog;
  #box;
  #close;
  #id = null;
  #closing = false; // as soon as the server has what was typed
  #failed = false; // what was typed could not be kept: the next time it closes without

  constructor(dialog) {
    super();
    this.#dialog = dialog;
    this.#box = dialog.querySelector("#keeping-control");
    this.#close = dialog.querySelector("form button");
    dialog.addEventListener("keeping", ({ detail: kept }) => {
      this.dispatchEvent(new CustomEvent("kept", { detail: { id: this.#id, kept } }));
      if (this.#closing) dialog.close();
    });
    dialog.addEventListener("unkept", () => this.#fail(this.#closing));
    this.#box.addEventListener("input", () => this.#fail(false));
    dialog.addEventListener("cancel", (event) => this.#leave(event));
    dialog.querySelector("form").addEventListener("submit", (event) => this.#leave(event));
  }

  /** Open it for a select, which is called `name`; returns words where that cannot be, else "". */
  open(select, name) {
    if (!select) return "Choose the select that is worth keeping first.";
    if (!select.version) return "This select is not saved yet: flag it once it is.";
    this.#id = select.id;
    this.#dialog.querySelector("#keeping-which").textContent = name;
    this.#box.replaceChildren(keepingControl(select.id, select.worth_keeping ?? null));
    this.#fail(false);
    this.#dialog.showModal();
    this.#box.querySelector("select").focus();
    return "";
  }

  // What was typed and not kept is kept now; it stays open until the server has it, or says why it has not.
  #leave(event) {
    const keep = this.#box.querySelector("[data-keep]");
    if (!keep || this.#failed) return;
    event.preventDefault();
    this.#closing = true;
    keep.click();
  }

  #fail(failed) {
    this.#closing = false;
    this.#failed = failed;
    this.#close.textContent = failed ? "Close without keeping" : "Close";
  }
}
