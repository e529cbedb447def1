// What part of the time is on the map, and where on it a time lies. Times are milliseconds since midnight of the first
// of January 1970 on the production's clock: a day's own times are added to when its midnight was.

export const [SECOND, MINUTE, HOUR, DAY, WEEK] = [1000, 60_000, 3_600_000, 86_400_000, 604_800_000];
const STEPS = [
  ...[1, 2, 5, 10, 15, 30].map((many) => many * SECOND),
  ...[1, 2, 5, 10, 15, 30].map((many) => many * MINUTE),
  ...[1, 2, 3, 6, 12].map((many) => many * HOUR),
  DAY,
];

/** Midnight of a day ("2026-11-12"). */
export const midnight = (day) => Date.parse(`${day}T00:00:00Z`);

/** The day that a time is in. */
export const dayOf = (time) => new Date(time).toISOString().slice(0, 10);

/** The day that a time is in, in words: Thu 12 Nov. */
export const dayWords = (time) =>
  new Date(time).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", timeZone: "UTC" });

/** A time of day: 10:04:31. */
export const clock = (time) => new Date(time).toISOString().slice(11, 19);

export class View {
  from;
  span;
  #first;
  #last;

  /** Shows [from, from + span) of what there is between `first` and `last`; a minute at least and a week at most. */
  constructor(from, span, first, last) {
    [this.#first, this.#last] = [first, last];
    this.set(from, span);
  }

  get to() {
    return this.from + this.span;
  }

  get middle() {
    return this.from + this.span / 2;
  }

  set(from, span = this.span) {
    this.span = Math.min(WEEK, Math.max(MINUTE, span));
    // Half of it may lie beside what there is, so that the first and the last can be looked at in the middle.
    this.from = Math.max(this.#first - this.span / 2, Math.min(from, this.#last - this.span / 2));
  }

  /** Show `factor` times as much, with `about` staying where it is. */
  zoom(factor, about = this.middle) {
    this.zoomAt(factor, about, (about - this.from) / this.span);
  }

  /** Show `factor` times as much, with `time` at this share of what is shown. */
  zoomAt(factor, time, share) {
    const span = Math.min(WEEK, Math.max(MINUTE, this.span * factor));
    this.set(time - share * span, span);
  }

  /** Whether any of [from, to) is in view. */
  shows(from, to) {
    return from < this.to && to > this.from;
  }

  /** Move on by a share of what is shown. */
  pan(share) {
    this.set(this.from + share * this.span);
  }

  /** Move as little as it takes to have [from, to) in view. */
  reveal(from, to) {
    const margin = this.span / 20;
    if (to - from > this.span - 2 * margin || from < this.from + margin) this.set(from - margin);
    else if (to > this.to - margin) this.set(to + margin - this.span);
  }

  /** How exact the ranges must be that are asked for: seconds that they may be rounded to. */
  get level() {
    if (this.span >= 20 * HOUR) return 60;
    return this.span >= 90 * MINUTE ? 4 : 0;
  }

  /** The days that may have something to show, those beside them too: a clip may run over midnight. */
  days(known) {
    return known.filter((day) => midnight(day) + 2 * DAY > this.from && midnight(day) - DAY < this.to);
  }

  /** Times to draw lines at, and how far they are apart; for a width in pixels. */
  ticks(width) {
    const step = STEPS.find((each) => (each / this.span) * width >= 78) ?? DAY;
    const times = [];
    for (let time = Math.ceil(this.from / step) * step; time < this.to; time += step) times.push(time);
    return { step, times };
  }
}
