// How long rows run: to the frame where they have one rate, to the hundredth of a second where they have several.

import { Timebase } from "./timecode.js";

/** The running time of rows that carry `data-frames` and `data-rate` (30000/1001d for drop-frame). */
export function running(rows) {
  const frames = new Map();
  for (const { dataset } of rows) frames.set(dataset.rate, (frames.get(dataset.rate) ?? 0) + Number(dataset.frames));
  const sums = [...frames].map(([rate, count]) => [timebaseOf(rate), count]);
  if (sums.length === 1 && sums[0][1] < sums[0][0].perDay) return sums[0][0].label(sums[0][1]);
  return clock(sums.reduce((seconds, [timebase, count]) => seconds + timebase.seconds(count), 0));
}

/** 25/1 or 30000/1001d as a Timebase. */
export function timebaseOf(rate) {
  const [, numerator, denominator, drop] = /^(\d+)\/(\d+)(d?)$/.exec(rate);
  return new Timebase(Number(numerator), Number(denominator), drop === "d");
}

function clock(seconds) {
  const hundredths = Math.round(seconds * 100);
  const pad = (number) => String(number).padStart(2, "0");
  const whole = Math.floor(hundredths / 100);
  return `${Math.floor(whole / 3600)}:${pad(Math.floor(whole / 60) % 60)}:${pad(whole % 60)}.${pad(hundredths % 100)}`;
}
