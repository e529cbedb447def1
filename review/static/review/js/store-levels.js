// Three places to keep what waits, the best first: the browser's database, its local storage, the page's memory.
//
// Each holds records {person, clip, id, line} and has `everything()` and `change(person, clip, id, rule)`, which puts
// rule(line) in the line's place with nobody in between, and resolves to it once it is safely down.

const DATABASE = "rushlight";
const WISHES = "wishes";
const PREFIX = "rushlight-wishes:";
const OPEN_TIMEOUT = 3000; // ms; some browsers never answer

export class DatabaseLevel {
  #database = null;

  static async open() {
    const level = new DatabaseLevel();
    await level.#open();
    return level;
  }

  async everything() {
    return this.#work("readonly", (wishes, answer) => {
      const asked = wishes.getAll();
      asked.onsuccess = () => answer(asked.result);
    });
  }

  async change(person, clip, id, rule) {
    return this.#work("readwrite", (wishes, answer) => {
      const asked = wishes.get([person, clip, id]);
      asked.onsuccess = () => {
        const line = rule(asked.result?.line ?? []);
        if (line.length) wishes.put({ person, clip, id, line });
        else wishes.delete([person, clip, id]);
        answer(line);
      };
    });
  }

  // Resolves when the transaction is on the disk, not when its requests were answered.
  async #work(mode, work) {
    const transaction = await this.#begin(mode);
    return new Promise((resolve, reject) => {
      let answer;
      transaction.oncomplete = () => resolve(answer);
      transaction.onabort = () => reject(transaction.error ?? new Error("The database gave up."));
      work(transaction.objectStore(WISHES), (found) => (answer = found));
    });
  }

  // A connection may be lost, to sleep or to somebody clearing the site's data: it is opened again once.
  async #begin(mode) {
    const begin = () => this.#database.transaction(WISHES, mode, { durability: "strict" });
    if (!this.#database) await this.#open();
    try {
      return begin();
    } catch {
      await this.#open();
      return begin();
    }
  }

  #open() {
    return new Promise((resolve, reject) => {
      setTimeout(() => reject(new Error("The database did not open.")), OPEN_TIMEOUT);
      const asked = indexedDB.open(DATABASE, 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore(WISHES, { keyPath: ["person", "clip", "id"] });
      asked.onerror = () => reject(asked.error);
      asked.onsuccess = () => {
        this.#database = asked.result;
        const lost = () => (this.#database = null);
        this.#database.onclose = lost;
        this.#database.onversionchange = () => (asked.result.close(), lost());
        resolve();
      };
    });
  }
}

export class LocalLevel {
  constructor() {
    localStorage.setItem(PREFIX, ""); // throws where it is refused
    localStorage.removeItem(PREFIX);
  }

  async everything() {
    return Object.keys(localStorage)
      .filter((name) => name.startsWith(PREFIX))
      .map((name) => JSON.parse(localStorage.getItem(name)));
  }

  async change(person, clip, id, rule) {
    return alone(PREFIX, () => {
      const name = `${PREFIX}${person}:${clip}:${id}`;
      const kept = localStorage.getItem(name);
      const line = rule(kept === null ? [] : JSON.parse(kept).line);
      if (line.length) localStorage.setItem(name, JSON.stringify({ person, clip, id, line }));
      else localStorage.removeItem(name);
      return line;
    });
  }
}

export class MemoryLevel {
  #records = new Map();

  async everything() {
    return [...this.#records.values()];
  }

  async change(person, clip, id, rule) {
    const name = JSON.stringify([person, clip, id]);
    const line = rule(this.#records.get(name)?.line ?? []);
    if (line.length) this.#records.set(name, { person, clip, id, line });
    else this.#records.delete(name);
    return line;
  }
}

/** Do `work` while no other tab does the work of this name. Over plain HTTP there are no locks: it is done at once. */
export async function alone(name, work) {
  return navigator.locks ? navigator.locks.request(name, work) : work();
}
