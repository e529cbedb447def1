// Where marks are kept until the server has them: in the best place that this browser allows.

import { admit, makeWish } from "./outbox-rules.js";
import { DatabaseLevel, LocalLevel, MemoryLevel } from "./store-levels.js";

const AHEAD = "rushlight-outbox:"; // where a mark stands until the database has it; older pages kept all marks there

const LEVELS = [
  { name: "database", open: () => DatabaseLevel.open() },
  { name: "local storage", open: () => new LocalLevel() },
  { name: "memory", open: () => new MemoryLevel() },
];

/** Speaks up with "weaker" when marks can no longer be kept where they were. */
export class Store extends EventTarget {
  #at = -1;
  #level = null;
  #weakening = null;

  static async open() {
    const store = new Store();
    await store.#nextLevel();
    await store.#moveIn();
    return store;
  }

  /** "database", "local storage" or "memory"; what is in memory alone is gone with the page. */
  get kind() {
    return LEVELS[this.#at].name;
  }

  /** What waits for a clip: [id, line], oldest first. */
  async all(person, clip) {
    const records = await this.#records(person);
    const here = records.filter((record) => record.clip === String(clip));
    return here.sort((a, b) => a.line[0].at - b.line[0].at).map(({ id, line }) => [id, line]);
  }

  /** The clips (their ids as text) that have marks of this person waiting. */
  async clips(person) {
    return [...new Set((await this.#records(person)).map(({ clip }) => clip))];
  }

  async #records(person) {
    return (await this.#try((level) => level.everything())).filter((record) => record.person === person);
  }

  /** Put rule(line) in place of what waits for a select; resolves to it once it is safely down. */
  change(person, clip, id, rule) {
    return this.#try((level) => level.change(person, String(clip), id, rule));
  }

  /** Take a wish in. It is written in local storage at once, and from there to the database: not even a page that
   * is being closed can lose it. `rule` is as for `change`. */
  async admit(person, clip, id, wish, rule) {
    const name = `${AHEAD}${person}:${clip}:${id}`;
    const text = JSON.stringify(wish);
    attempt(() => localStorage.setItem(name, text));
    const line = await this.change(person, clip, id, rule);
    attempt(() => localStorage.getItem(name) === text && localStorage.removeItem(name));
    return line;
  }

  async #try(work) {
    const level = this.#level;
    try {
      return await work(level);
    } catch (problem) {
      if (this.#at === LEVELS.length - 1) throw problem;
      if (level === this.#level) await (this.#weakening ??= this.#weaken(level));
      return this.#try(work);
    }
  }

  // What the failing level still shows goes along to the next one.
  async #weaken(level) {
    const records = await level.everything().catch(() => []);
    await this.#nextLevel();
    for (const { person, clip, id, line } of records) await this.#level.change(person, clip, id, () => line);
    this.#weakening = null;
    this.dispatchEvent(new Event("weaker"));
  }

  async #nextLevel() {
    for (;;) {
      this.#at += 1;
      try {
        this.#level = await LEVELS[this.#at].open();
        return;
      } catch (problem) {
        if (this.#at === LEVELS.length - 1) throw problem;
      }
    }
  }

  // What an earlier page left in local storage: one that was closed at that moment, or an older one.
  async #moveIn() {
    for (const [name, text] of attempt(() => Object.entries(localStorage)) ?? []) {
      if (!name.startsWith(AHEAD)) continue;
      const [person, clip, id] = name.slice(AHEAD.length).split(":");
      const wish = attempt(() => readWish(JSON.parse(text)));
      if (!wish) continue;
      await this.change(person, clip, id, (line) => admit(line, wish));
      attempt(() => localStorage.getItem(name) === text && localStorage.removeItem(name));
    }
  }
}

// Older pages wrote {method, body} alone. The stamp is the same whichever tab moves it.
function readWish(kept) {
  if (kept.stamp) return kept;
  const { method, body } = kept;
  return makeWish(`older ${JSON.stringify(kept)}`, 0, method, { version: 0, ...body });
}

function attempt(work) {
  try {
    return work();
  } catch {
    return undefined; // it is refused here, or was not written by us
  }
}
