// The rows of a list on the page: moved, taken out and put back at once, before the server has said so.

import { running } from "./list-totals.js";

/** Rows are found anew each time: the table is drawn again now and then. */
export class ListRows {
  #list;

  constructor(list) {
    this.#list = list;
  }

  get all() {
    return [...this.#list.querySelectorAll("tr[data-select]")];
  }

  row(select) {
    return this.#list.querySelector(`tr[data-select="${CSS.escape(select)}"]`);
  }

  /** Where a row is, as the server is told: before another select, or at the end of a section. */
  place(row) {
    const next = row.nextElementSibling?.dataset.select ?? null;
    return { before: next, section: next ? null : Number(row.closest("tbody").dataset.section) || null };
  }

  /** Past its neighbour, up (-1) or down (1), into the next section if it is at an end. Whether it moved. */
  step(row, by) {
    const beside = by < 0 ? row.previousElementSibling : row.nextElementSibling;
    if (beside?.dataset.select) {
      if (by < 0) beside.before(row);
      else beside.after(row);
      return true;
    }
    const bodies = [...this.#list.querySelectorAll("tbody")];
    const body = bodies[bodies.indexOf(row.closest("tbody")) + by];
    if (!body) return false;
    const first = [...body.rows].find((each) => each.dataset.select);
    if (by > 0 && first) first.before(row);
    else body.append(row);
    return true;
  }

  /** Puts a row that was taken out back to where it was. */
  putBack(row, { before, section }) {
    const next = before && this.row(before);
    if (next) return next.before(row);
    const body = this.#list.querySelector(`tbody[data-section="${section ?? ""}"]`);
    (body ?? this.#list.querySelector("tbody")).append(row);
  }

  /** Places and running times, as the rows are now. */
  count() {
    const rows = this.all;
    rows.forEach((row, at) => {
      const place = row.firstElementChild.firstChild; // most stay: to write a thousand again takes longer than a key may
      if (place.data !== String(at + 1)) place.data = at + 1;
    });
    for (const link of this.#list.querySelectorAll(".twice a")) {
      const twin = document.getElementById(link.hash.slice(1));
      if (twin) link.textContent = twin.cells[0].textContent;
    }
    document.getElementById("size").textContent = rows.length;
    const total = document.getElementById("total");
    if (total.dataset.merges === "no" && rows.length) document.getElementById("running").textContent = running(rows);
    for (const body of this.#list.querySelectorAll("tbody")) {
      const inside = [...body.rows].filter((row) => row.dataset.select);
      const said = body.querySelector("[data-running]");
      if (!said) continue;
      said.textContent = inside.length ? running(inside) : "";
      body.querySelector("[data-count]").textContent = `${inside.length} select${inside.length === 1 ? "" : "s"}`;
    }
  }

  /** The row that the keyboard gets to; arrows go on from it. */
  enter(row, { focus = true } = {}) {
    for (const each of this.#list.querySelectorAll("tr.chosen")) {
      each.classList.remove("chosen");
      each.removeAttribute("aria-current");
      each.tabIndex = -1;
    }
    row.classList.add("chosen");
    row.setAttribute("aria-current", "true");
    row.tabIndex = 0;
    if (focus) row.focus();
  }

  get chosen() {
    return this.#list.querySelector("tr.chosen") ?? this.all[0];
  }
}
