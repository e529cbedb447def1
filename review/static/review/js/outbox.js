// Marks on their way to the server. Each is written to this browser's storage first and taken out when
// the server has it, so that nothing is lost when the network or the server goes, or the tab is closed.

const RETRY = 3000; // ms
const PREFIX = "rushlight-outbox:";

/** The clips (their ids as text) that have marks of this person waiting in this browser. */
export function clipsWithMarks(person) {
  const mine = `${PREFIX}${person}:`;
  const names = Object.keys(localStorage).filter((name) => name.startsWith(mine));
  return [...new Set(names.map((name) => name.slice(mine.length).split(":")[0]))];
}

export class Outbox extends EventTarget {
  #key;
  #waiting; // id -> {method, body}: the newest wish for each select
  #refused = new Map(); // id -> ApiError
  #call;
  #sending = false;

  /** `call(method, id, body)` resolves to the select as the server has it, or throws an ApiError. */
  constructor(person, clip, call) {
    super();
    this.#key = `${PREFIX}${person}:${clip}:`;
    this.#waiting = new Map(this.#kept());
    this.#call = call;
    setInterval(() => this.send(), RETRY);
    addEventListener("online", () => this.send());
  }

  get waiting() {
    return this.#waiting.size;
  }

  get refused() {
    return this.#refused;
  }

  /** What was left here by an earlier page: [id, {method, body}]. */
  get left() {
    return [...this.#waiting];
  }

  add(id, method, body) {
    this.#waiting.delete(id); // to the end of the line
    this.#waiting.set(id, { method, body });
    this.#refused.delete(id);
    this.#keep(id);
    this.send();
  }

  drop(id) {
    this.#waiting.delete(id);
    this.#refused.delete(id);
    this.#keep(id);
  }

  /** Send what waits, oldest first, until all is sent or the server is away. */
  async send() {
    if (this.#sending) return;
    this.#sending = true;
    const tried = new Set();
    for (let next; (next = this.#next(tried)); ) {
      tried.add(next[1]);
      if (!(await this.#sendOne(...next))) break;
    }
    this.#sending = false;
    this.#tell();
  }

  #next(tried) {
    return [...this.#waiting].find(([id, wish]) => !this.#refused.has(id) && !tried.has(wish));
  }

  // Whether the server could be reached.
  async #sendOne(id, wish) {
    try {
      const select = await this.#call(wish.method, id, wish.body);
      const newer = this.#waiting.get(id);
      if (newer === wish) this.#done(id, wish);
      else if (newer) {
        newer.body.version = select.version;
        this.#keep(id);
      }
      this.dispatchEvent(new CustomEvent("sent", { detail: { id, select, newer: newer !== wish } }));
    } catch (problem) {
      if (problem.passing) {
        this.dispatchEvent(new CustomEvent("away", { detail: problem }));
        return false;
      }
      this.#refused.set(id, problem);
      this.dispatchEvent(new CustomEvent("refused", { detail: { id, problem } }));
    }
    return true;
  }

  // Another tab may have written something newer in this one's place meanwhile: that stays.
  #done(id, wish) {
    this.#waiting.delete(id);
    if (localStorage.getItem(this.#key + id) === JSON.stringify(wish)) localStorage.removeItem(this.#key + id);
    this.#tell();
  }

  // An entry for each select, so that two tabs on one clip do not write over each other's.
  #keep(id) {
    const wish = this.#waiting.get(id);
    if (wish) localStorage.setItem(this.#key + id, JSON.stringify(wish));
    else localStorage.removeItem(this.#key + id);
    this.#tell();
  }

  #kept() {
    const names = Object.keys(localStorage).filter((name) => name.startsWith(this.#key));
    return names.map((name) => [name.slice(this.#key.length), JSON.parse(localStorage.getItem(name))]);
  }

  #tell() {
    this.dispatchEvent(new Event("change"));
  }
}
