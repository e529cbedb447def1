// What is watched here counts as it does on the watching page: a viewing for each clip, opened when it first plays.

import { call } from "./api.js";
import { newId } from "./ids.js";
import { Timebase } from "./timecode.js";
import { keepWatched } from "./watch-left.js";
import { WatchLog } from "./watch-log.js";

export class Watched {
  #person;
  #logs = new Map(); // clip -> WatchLog
  #at = null; // the log that something is being shown to

  /** `reel` is what plays. */
  constructor(person, reel) {
    this.#person = person;
    reel.addEventListener("frame", ({ detail }) => this.#shown(detail));
    reel.addEventListener("change", () => reel.playing || this.#stopped(reel));
    addEventListener("pagehide", () => this.#logs.forEach((log) => log.leave()));
  }

  #shown({ row, frame, speed, muted }) {
    const log = this.#logs.get(row.clip) ?? (speed ? this.#open(row) : null);
    if (log !== this.#at) this.#at?.cut();
    this.#at = log;
    if (speed) log.shown(frame, speed, muted || speed < 0);
    else log?.cut();
  }

  #stopped(reel) {
    if (reel.row && this.#at === this.#logs.get(reel.row.clip)) this.#at?.end(reel.frame);
    else this.#at?.cut();
    this.#at?.flush(); // so that other pages have it within five seconds
  }

  #open(row) {
    const facts = { person: this.#person, viewing: newId(), api: { watched: `/api/v1/clips/${row.clip}/watched/` } };
    const send = (batch, spans, keepalive) =>
      call("POST", facts.api.watched, { viewing: facts.viewing, batch, spans }, { keepalive });
    const log = new WatchLog(new Timebase(...row.rate, row.drop), send, (batches) => keepWatched(facts, batches));
    this.#logs.set(row.clip, log);
    send(0, [], false).catch(() => {}); // opens the viewing: its clock starts
    return log;
  }
}
