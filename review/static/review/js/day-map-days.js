// Fetches what the map shows of each day, as exactly as the zoom needs, and keeps it.

import { unpacked } from "./day-map-clips.js";
import { HOUR, midnight } from "./day-map-view.js";

const MOST_KEPT = 60; // answers; those longest unused go first

export class Days {
  #address;
  #kept = new Map(); // what was asked -> {day, level, part}
  #asked = new Map(); // what was asked -> that it is on the way
  #arrived;

  /** `arrived(problem)` is called whenever there is more to show, or with what went wrong. */
  constructor(address, arrived) {
    this.#address = address;
    this.#arrived = arrived;
  }

  /** The best there is of the days in view by now; asks for what is missing, or for all of it anew. */
  of(view, days, anew = false) {
    const found = [];
    for (const day of view.days(days)) {
      const key = keyOf(view, day);
      if (anew || !this.#kept.has(key)) this.#ask(key, day);
      const part = this.#kept.get(key) ?? this.#another(day);
      if (part) found.push(part);
    }
    return found;
  }

  /** All clips of a day, as far as they are here by now: of what is shown closely, the hours in view alone are. */
  wholeDay(day) {
    const key = `${day}|level=60`;
    if (!this.#kept.has(key)) this.#ask(key, day);
    return this.#kept.get(key)?.clips ?? [];
  }

  // Of another zoom, until the right one is here: of the whole day rather than of some hours.
  #another(day) {
    const others = [...this.#kept.entries()].filter(([key]) => key.startsWith(day));
    return (others.find(([key]) => !key.includes("since")) ?? others.at(-1))?.[1];
  }

  async #ask(key, day) {
    if (this.#asked.has(key)) return;
    this.#asked.set(key, true);
    try {
      // The browser asks with the ETag of what it has; unchanged, it is not sent again.
      const response = await fetch(`${this.#address(day)}&${key.split("|")[1]}`, { signal: AbortSignal.timeout(30_000) });
      if (!response.ok) throw new Error(`The server answered ${response.status}.`);
      const part = unpacked(await response.json());
      this.#kept.delete(key);
      this.#kept.set(key, part);
      if (this.#kept.size > MOST_KEPT) this.#kept.delete(this.#kept.keys().next().value);
      this.#arrived(null);
    } catch (problem) {
      this.#arrived(problem);
    } finally {
      this.#asked.delete(key);
    }
  }
}

// Every frame of a whole day may be too much to send: of that only the hours in view are asked for.
function keyOf(view, day) {
  if (view.level) return `${day}|level=${view.level}`;
  const begin = midnight(day);
  const since = Math.floor((view.from - begin) / HOUR) * HOUR;
  return `${day}|level=0&since=${since}&until=${Math.ceil((view.to - begin) / HOUR) * HOUR}`;
}
