// Marks on their way to the server: joins the rules (outbox-rules.js), the browser's database (store.js), the network
// and the other tabs. A mark is written down first and taken out when the server has it, so that nothing is lost when
// the network or the server goes, or the tab is closed.

import { ApiError } from "./api.js";
import { newId } from "./ids.js";
import * as rules from "./outbox-rules.js";
import { alone } from "./store-levels.js";

const RETRY = 3000; // ms
const MOST_REBASES = 3; // in a row, before the person is asked after all
const CHANNEL = "rushlight-marks";

/**
 * Events: "change" (something stands elsewhere than before), "sent" {id, select, newer, follows}: the server has it as
 * `select`, but the page shows something `newer`, which `follows` it or not; "away" (an ApiError); "refused" {id, wish,
 * problem}; and from another tab "heard" {id, wish}, "answered" {id}: a refusal was seen to, "dropped" {id, current}.
 */
export class Outbox extends EventTarget {
  #person;
  #clip;
  #call;
  #store;
  #channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(CHANNEL) : null;
  #lines = new Map(); // id -> what waits, as the store has it or is about to
  #shown = new Map(); // id -> the newest wish that this page shows
  #keeping = new Map(); // id -> how many wishes are not safely down yet
  #refused = new Map(); // id -> {stamp, problem}
  #settled = new Map(); // stamp -> version
  #flying = null; // the id being sent
  #away = false;
  #sending = false;
  #again = false;

  /** `call(method, id, body)` resolves to the select as the server has it, or throws an ApiError. */
  static async open(person, clip, call, store) {
    const outbox = new Outbox(person, clip, call, store);
    await outbox.#refresh();
    for (const [id, line] of outbox.#lines) outbox.#shown.set(id, line.at(-1));
    return outbox;
  }

  constructor(person, clip, call, store) {
    super();
    this.#person = person;
    this.#clip = String(clip);
    this.#call = call;
    this.#store = store;
    this.#channel?.addEventListener("message", ({ data }) => this.#heard(data));
    setInterval(() => this.#sending || this.send(), RETRY);
    for (const event of ["online", "pageshow", "focus"]) addEventListener(event, () => this.send());
  }

  /** How many selects the server does not have as they are here. */
  get waiting() {
    return this.#lines.size;
  }

  get refused() {
    return this.#refused.size;
  }

  /** Whether something is being sent and the server answered the last time. */
  get sending() {
    return this.#flying !== null && !this.#away;
  }

  /** What was left here by an earlier page: [id, the newest wish]. */
  get left() {
    return [...this.#shown];
  }

  /** Where a select stands (see `standing` in the rules), and what the server said against it. */
  standing(id) {
    const refusal = this.#refused.get(id);
    const flying = this.#flying === id && !this.#away;
    const name = rules.standing(this.#lines.get(id), { refused: refusal, flying, keeping: this.#keeping.has(id) });
    return { name, why: refusal?.problem.message ?? "" };
  }

  /** Take a wish in; `over` is the wish that it answers, where that is not the one this page shows. */
  add(id, method, body, over = this.#shown.get(id)) {
    const wish = rules.makeWish(newId(), Date.now(), method, body, over?.stamp);
    const settled = this.#settled.get(over?.stamp);
    if (settled !== undefined) wish.body = { ...body, version: Math.max(settled, body.version) };
    this.#shown.set(id, wish);
    this.#refused.delete(id);
    this.#lines.set(id, rules.admit(this.#lines.get(id) ?? [], wish, over));
    this.#keeping.set(id, (this.#keeping.get(id) ?? 0) + 1);
    this.#tell();
    this.#keep(id, wish, over);
  }

  async #keep(id, wish, over) {
    const line = await this.#store.admit(this.#person, this.#clip, id, wish, (line) => {
      // Its predecessor may have been taken by the server since.
      const version = Math.max(wish.body.version, this.#settled.get(over?.stamp) ?? 0);
      return rules.admit(line, { ...wish, body: { ...wish.body, version } }, over);
    });
    const left = this.#keeping.get(id) - 1;
    if (left) this.#keeping.set(id, left);
    else {
      this.#keeping.delete(id);
      this.#show(id, line);
    }
    this.#broadcast({ kind: "line", id, line, wish });
    this.#tell();
    this.send();
  }

  /** Forget a wish: the one that was refused, or else the newest. `current` is what the server has, if that is known. */
  async drop(id, current = null) {
    const stamp = this.#refused.get(id)?.stamp ?? this.#shown.get(id)?.stamp;
    this.#shown.delete(id);
    this.#refused.delete(id);
    this.#show(id, rules.drop(this.#lines.get(id) ?? [], stamp));
    this.#tell();
    const line = await this.#change(id, (line) => rules.drop(line, stamp));
    this.#broadcast({ kind: "dropped", id, line, stamp, current });
  }

  /** Send what waits, oldest first, until all is sent or the server is away. One tab sends at a time. */
  async send() {
    this.#again = true;
    if (this.#sending) return;
    this.#sending = true;
    try {
      while (this.#again) {
        this.#again = false;
        await alone(`${CHANNEL}:${this.#person}:${this.#clip}`, () => this.#sendAll());
      }
    } finally {
      this.#sending = false;
      this.#flying = null;
      this.#tell();
    }
  }

  async #sendAll() {
    await this.#refresh();
    const tried = new Set(); // stamps
    for (;;) {
      const next = [...this.#lines].find(
        ([id, [first]]) => !this.#keeping.has(id) && !tried.has(first.stamp) && !this.#isRefused(id, first),
      );
      if (!next) return;
      tried.add(next[1][0].stamp);
      if (!(await this.#sendOne(next[0]))) {
        this.#again = false;
        return;
      }
    }
  }

  #isRefused(id, wish) {
    return this.#refused.get(id)?.stamp === wish.stamp;
  }

  // Whether the server could be reached.
  async #sendOne(id, rebases = 0) {
    const [wish] = await this.#change(id, rules.lend);
    if (!wish) return true; // another tab was faster
    this.#flying = id;
    this.#tell();
    try {
      const select = await this.#call(wish.method, id, wish.body);
      this.#away = false;
      this.#settled.set(wish.stamp, select.version);
      await this.#settle(id, wish, select);
    } catch (problem) {
      if (!(problem instanceof ApiError)) throw problem;
      const verdict = rules.verdict(problem, wish);
      this.#away = verdict === "away";
      if (this.#away) this.dispatchEvent(new CustomEvent("away", { detail: problem }));
      else if (verdict === "ours" && rebases < MOST_REBASES) {
        await this.#change(id, (line) => rules.rebase(line, wish, problem.body.current.version));
        return this.#sendOne(id, rebases + 1);
      } else await this.#refuse(id, wish, problem);
    }
    this.#flying = null;
    this.#tell();
    return !this.#away;
  }

  // Only the wish that was sent goes; what another tab or a quick hand put in its place stays.
  async #settle(id, wish, select) {
    const follows = this.#follows(id, wish);
    const line = await this.#change(id, (line) => rules.settle(line, wish, select.version));
    this.#broadcast({ kind: "sent", id, line, select, wish });
    this.#sent(id, select, wish, follows);
  }

  #sent(id, select, wish, follows) {
    this.#settled.set(wish.stamp, select.version);
    const shown = this.#shown.get(id);
    if (shown?.stamp === wish.stamp) this.#shown.delete(id);
    const newer = this.#shown.has(id);
    this.dispatchEvent(new CustomEvent("sent", { detail: { id, select, newer, follows } }));
  }

  // Whether what this page shows goes on from this wish, and was not made without knowing of it.
  #follows(id, wish) {
    const stamp = this.#shown.get(id)?.stamp;
    return Boolean(this.#lines.get(id)?.some((each) => each.stamp === stamp && each.chain === wish.chain));
  }

  async #refuse(id, wish, problem) {
    const line = await this.#change(id, (line) => line);
    if (!line.some((each) => each.stamp === wish.stamp)) return; // it has been seen to meanwhile
    const { status, body } = problem;
    this.#broadcast({ kind: "refused", id, wish, status, body });
    this.#noteRefusal(id, wish, problem);
  }

  #noteRefusal(id, wish, problem) {
    this.#refused.set(id, { stamp: wish.stamp, problem });
    this.dispatchEvent(new CustomEvent("refused", { detail: { id, wish, problem } }));
    this.#tell();
  }

  // What another tab of this person at this clip has done.
  #heard({ person, clip, kind, id, line, ...news }) {
    if (person !== this.#person || clip !== this.#clip) return;
    if (kind === "refused") return this.#noteRefusal(id, news.wish, new ApiError(news.status, news.body));
    const follows = kind === "sent" && this.#follows(id, news.wish);
    if (!this.#keeping.has(id)) this.#show(id, line);
    const refusal = this.#refused.get(id);
    if (refusal && !line.some((wish) => wish.stamp === refusal.stamp)) {
      this.#refused.delete(id);
      this.dispatchEvent(new CustomEvent("answered", { detail: { id } }));
    }
    if (kind === "sent") this.#sent(id, news.select, news.wish, follows);
    if (kind === "dropped") this.#dropped(id, news);
    if (kind === "line") this.#hearWish(id, news.wish);
    this.#tell();
  }

  // A wish made over what this page shows, or where it shows what the server has, is shown here too.
  #hearWish(id, wish) {
    const mine = this.#shown.get(id);
    if (mine && mine.stamp !== wish.over) return;
    this.#shown.set(id, wish);
    this.dispatchEvent(new CustomEvent("heard", { detail: { id, wish } }));
  }

  #dropped(id, { stamp, current }) {
    if (this.#shown.get(id)?.stamp !== stamp) return;
    this.#shown.delete(id);
    this.dispatchEvent(new CustomEvent("dropped", { detail: { id, current } }));
  }

  async #change(id, rule) {
    const line = await this.#store.change(this.#person, this.#clip, id, rule);
    if (!this.#keeping.has(id)) this.#show(id, line);
    return line;
  }

  // The store as it is now, but for what is on its way into it.
  async #refresh() {
    const found = new Map(await this.#store.all(this.#person, this.#clip));
    for (const id of this.#lines.keys()) if (!found.has(id) && !this.#keeping.has(id)) this.#lines.delete(id);
    for (const [id, line] of found) if (!this.#keeping.has(id)) this.#lines.set(id, line);
  }

  #show(id, line) {
    if (line.length) this.#lines.set(id, line);
    else this.#lines.delete(id);
  }

  #broadcast(news) {
    this.#channel?.postMessage({ person: this.#person, clip: this.#clip, ...news });
  }

  #tell() {
    this.dispatchEvent(new Event("change"));
  }
}
