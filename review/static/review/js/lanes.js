// The lanes of a clip: where there is speech, silence, a black picture, stillness, or a cut, as the worker found them.
// They guide the eye and the keys that skip; they never count as watching.

export const NAMES = {
  speech: "speech",
  silence: "silence",
  black: "black picture or covered lens",
  still: "nothing moves",
  cuts: "a cut",
};

// px in a line of the sheet, as in sheet.js: cuts are ticks above the film, the rest lies below what was seen.
const CUTS = { top: 0, height: 5 };
const SOUND = { top: 83, height: 3 };
const LINE = 92;
const PICTURE = { top: 87, height: 4 };

/** What the clip's `lanes.json` says, or null: the sheet can be read without it. */
export function loadLanes(url) {
  if (!url) return Promise.resolve(null);
  return fetch(url)
    .then((response) => (response.ok ? response.json() : null))
    .catch(() => null);
}

/** Draw what lies in frames [from, to); `x` gives a frame's place. Each lane has a texture of its own. */
export function drawLanes(pen, lanes, from, to, x, colours) {
  const bars = (lane, draw) => {
    for (const [start, end] of within(lanes[lane], from, to)) {
      const left = x(Math.max(start, from));
      draw(left, Math.max(1, x(Math.min(end, to)) - left));
    }
  };
  pen.fillStyle = colours.accent;
  bars("speech", (left, wide) => pen.fillRect(left, SOUND.top, wide, SOUND.height));
  pen.fillStyle = colours.faint;
  bars("silence", (left, wide) => dots(pen, left, wide, 4, 1, SOUND.top + 1, 1));
  bars("still", (left, wide) => dots(pen, left, wide, 5, 1, PICTURE.top, PICTURE.height));
  pen.fillStyle = colours.ink;
  bars("black", (left, wide) => dots(pen, left, wide, 3, 2, PICTURE.top, PICTURE.height));
  for (const frame of lanes.cuts ?? []) {
    if (frame >= from && frame < to) pen.fillRect(x(frame) - 1, CUTS.top, 2, CUTS.height);
  }
}

function dots(pen, left, wide, every, each, top, height) {
  for (let at = 0; at < wide; at += every) pen.fillRect(left + at, top, Math.min(each, wide - at), height);
}

function within(ranges, from, to) {
  return (ranges ?? []).filter(([start, end]) => end > from && start < to);
}

/** The lanes at a frame, in words; a cut within `near` frames is named too. */
export function wordsAt(lanes, frame, near) {
  const there = Object.keys(NAMES).filter((lane) =>
    lane === "cuts"
      ? lanes.cuts?.some((cut) => Math.abs(cut - frame) <= near)
      : within(lanes[lane], frame, frame + 1).length,
  );
  return there.map((lane) => NAMES[lane]).join(", ");
}

/** Where the next speech starts after `frame` (direction 1), or the one before it (-1); undefined where there is none. */
export function otherSpeech(lanes, frame, direction) {
  const starts = (lanes?.speech ?? []).map(([start]) => start);
  return direction > 0 ? starts.find((start) => start > frame) : starts.findLast((start) => start < frame);
}

/** A table of what the lanes look like, for the help; `colours` are the sheet's. Gives what draws it, as they are then. */
export function writeLegend(into, colours) {
  const made = document.createElement("table");
  made.createCaption().textContent = "Lanes on the sheet";
  const draws = [];
  for (const [lane, words] of Object.entries(NAMES)) {
    const row = made.insertRow();
    const sample = document.createElement("canvas");
    [sample.width, sample.height] = [48, 12];
    row.insertCell().append(sample);
    row.insertCell().textContent = words;
    draws.push(() => drawSample(sample, lane, colours));
  }
  into.append(made);
  return () => draws.forEach((draw) => draw());
}

function drawSample(sample, lane, colours) {
  const pen = sample.getContext("2d");
  pen.setTransform(1, 0, 0, 1, 0, lane === "cuts" ? 3 : 4 - SOUND.top);
  pen.clearRect(0, 0, sample.width, LINE);
  drawLanes(pen, { [lane]: lane === "cuts" ? [1] : [[0, 2]] }, 0, 2, (frame) => (frame * sample.width) / 2, colours);
}
