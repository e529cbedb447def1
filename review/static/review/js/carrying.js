// Carrying a select to the other angles of its moment, and saying where the ones on this clip came from.

import { call } from "./api.js";

/** The words for what has been carried: which cameras, and where on them. */
export function carriedTo(selects) {
  if (!selects.length) return "Nothing else was rolling while this select was shot: there is nowhere to carry it to.";
  const places = selects.map(({ card, clip_name, source_in }) => `${card} ${clip_name} at ${source_in}`);
  return `Carried, and linked to this one: ${places.join(", ")}.`;
}

export class Carrying {
  #outbox;
  #origins;
  #asked = new Set();

  /** `origins` maps the ids of selects that were carried here to the cameras they came from. */
  constructor(outbox, origins) {
    this.#outbox = outbox;
    this.#origins = new Map(Object.entries(origins));
  }

  /** Carry a select; resolves to words for the person. */
  async carry(select) {
    if (!select) return "Choose a select first: it is carried to the other angles of its moment.";
    if (this.#outbox.standing(select.id).name !== "saved") return "The select is not saved yet: carry it in a moment.";
    try {
      return carriedTo(await call("POST", `/api/v1/selects/${select.id}/carry/`, {}));
    } catch (problem) {
      return problem.message;
    }
  }

  /** The camera that a select was carried from, as far as it is known; `arrived` is called when it is. */
  origin({ carried_from }, arrived) {
    if (!carried_from) return null;
    if (!this.#origins.has(carried_from) && !this.#asked.has(carried_from)) {
      this.#asked.add(carried_from);
      call("GET", `/api/v1/selects/${carried_from}/`).then(
        ({ card }) => (this.#origins.set(carried_from, card), arrived()),
        () => {}, // it was deleted since
      );
    }
    return this.#origins.get(carried_from) ?? "another angle";
  }
}
