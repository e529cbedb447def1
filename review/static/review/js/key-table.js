// The table of keys as this person has it: the usual one with their own keys in it, which are kept with the person.

import { call } from "./api.js";
import { KEYS, lettersOf } from "./keys.js";
import { give, giveBack, withOwn } from "./own-keys.js";

const HABITS = "/api/v1/habits/";

/** Speaks up with "change". */
export class KeyTable extends EventTarget {
  #own;
  #rows;

  /** `own` maps intents to keys. */
  constructor(own = {}) {
    super();
    this.#take(own);
  }

  get rows() {
    return this.#rows;
  }

  /** Letters that no tag can have. */
  get letters() {
    return lettersOf(this.#rows);
  }

  /** The row of a key, as nameOf (keys.js) writes it. */
  rowOf(key) {
    return this.#rows.find(({ keys }) => keys.includes(key));
  }

  /** The first key of an intent, or "" if it has none. */
  keyOf(intent) {
    return this.#rows.find((row) => row.intent === intent)?.keys[0] ?? "";
  }

  isOwn(intent) {
    return intent in this.#own;
  }

  /** Give an intent a key, for good. Resolves to words where that cannot be, else to "". */
  give(intent, key) {
    return this.#change(give(KEYS, this.#own, intent, key));
  }

  /** Give an intent its usual keys back. */
  giveBack(intent) {
    return this.#change(giveBack(KEYS, this.#own, intent));
  }

  async #change({ own, refused }) {
    if (refused) return refused;
    try {
      await call("POST", HABITS, { keys: own });
    } catch (problem) {
      return `The key was not changed: ${problem.message}`;
    }
    this.#take(own);
    this.dispatchEvent(new Event("change"));
    return "";
  }

  #take(own) {
    this.#own = own;
    this.#rows = withOwn(KEYS, own);
  }
}
