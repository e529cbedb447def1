// A typed timecode, in the usual short forms, as a frame of the clip.
//
//   10:04:31:12  10.04.31.12  10043112   the whole of it
//   31:12  3112                          only its end: the rest is as on the screen
//   +12  -1:00  +100                     so much further, or back: frames, seconds and frames
//   31.                                  a separator at the end stands for no frames

const SEPARATORS = /[:;.,]/;

/** What cannot be gone to, in words for people. */
export class NoSuchFrame extends Error {}

/** The frame (counted from the clip's first) that `text` means, while frame `shown` is on the screen.
 *  `clip` has `start` and `frames`. Throws NoSuchFrame. */
export function typedFrame(text, shown, clip, timebase) {
  const typed = text.trim().replace(/\s+/g, "");
  const match = /^([+-]?)([\d:;.,]+)$/.exec(typed);
  if (!match || !/\d/.test(typed)) throw new NoSuchFrame(`“${text.trim()}” is no timecode: type 10:04:31:12, 31:12 or +5.`);
  const [, sign, digits] = match;
  const parts = partsOf(digits);
  if (!parts) throw new NoSuchFrame(`“${typed}” is too long: a timecode has eight digits, hh:mm:ss:ff.`);
  const frame = sign ? shown + (sign === "+" ? 1 : -1) * lengthOf(parts, timebase) : placeOf(parts, shown, clip, timebase);
  if (frame === null) throw new NoSuchFrame(`There is no ${written(parts, shown, clip, timebase)} at this rate.`);
  if (frame < 0 || frame >= clip.frames) {
    const label = (at) => timebase.label(clip.start + at);
    const where = sign ? "That" : timebase.label(frame + clip.start < 0 ? 0 : frame + clip.start);
    throw new NoSuchFrame(`${where} is not in this clip, which runs from ${label(0)} to ${label(clip.frames - 1)}.`);
  }
  return frame;
}

// Two digits a part, from the right: [ff], [ss, ff], [mm, ss, ff] or [hh, mm, ss, ff]; null for more than that.
function partsOf(digits) {
  const texts = SEPARATORS.test(digits)
    ? digits.split(SEPARATORS)
    : (digits.length % 2 ? `0${digits}` : digits).match(/\d\d/g);
  if (texts.length > 4 || texts.some((text) => text.length > 2)) return null;
  return texts.map(Number);
}

function lengthOf(parts, timebase) {
  const [ff, ss = 0, mm = 0, hh = 0] = [...parts].reverse();
  return Math.round(((3600 * hh + 60 * mm + ss) * timebase.numerator) / timebase.denominator) + ff;
}

function whole(parts, shown, clip, timebase) {
  const now = timebase.label(clip.start + shown).split(/[:;]/).map(Number);
  return [...now.slice(0, 4 - parts.length), ...parts];
}

function placeOf(parts, shown, clip, timebase) {
  const frame = timebase.frameOf(...whole(parts, shown, clip, timebase));
  if (frame === null) return null;
  // A clip that runs over midnight has its later frames on the next day.
  const place = frame - clip.start;
  return place < 0 && place + timebase.perDay < clip.frames ? place + timebase.perDay : place;
}

function written(parts, shown, clip, timebase) {
  const texts = whole(parts, shown, clip, timebase).map((part) => String(part).padStart(2, "0"));
  return `${texts.slice(0, 3).join(":")}${timebase.drop ? ";" : ":"}${texts[3]}`;
}
