// Drawing one line of the sheet: its film, sound, what was seen of it, and what was marked on it.

import { drawLanes } from "./lanes.js";
import { bandOf } from "./open-mark.js";
import { gaps } from "./ranges.js";

export const LINE = 92; // px, as in watch.css
const FILM = { top: 4, height: 45 };
const PEAKS = { top: 51, height: 22 };
const SEEN = { top: 75, height: 6 };
const BAND = { top: 2, height: 71 };
const WORDS = [60, 71]; // where the rows of tags stand

/**
 * Draw frames [from, to) of a line that has room for `room` frames on `width` pixels.
 *
 * `sheet` has what the clip is made of (frames, film, outline, lanes, channel), `state` what is marked and shown on it,
 * `colours` the page's.
 */
export function drawLine(pen, { from, to, room, width }, sheet, state, colours) {
  const x = (frame) => ((frame - from) / room) * width;
  const line = { pen, from, to, x, colours, framesWide: (wide) => (wide / width) * room };
  if (sheet.film.any) drawFilm(line, sheet.film);
  paleUnread(line, state, sheet.frames);
  if (to > state.reach) drawBeyond(line, x(Math.max(from, state.reach)), x(to));
  if (sheet.outline) drawPeaks(line, sheet.outline, sheet.channel);
  drawSeen(line, state);
  if (sheet.lanes) drawLanes(pen, sheet.lanes, from, to, x, colours);
  for (const select of state.selects) drawSelect(line, select, select.id === state.active);
  const ends = WORDS.map(() => 0); // of what is written in each row
  for (const select of state.selects) drawWords(line, select, ends);
  for (const note of state.notes) drawNote(line, note.frame);
  if (state.drag) drawOpen(line, state.drag, state.drag[0]);
  if (state.draft) drawOpen(line, bandOf(state.draft, state.frame), state.draft.in_frame ?? state.draft.out_frame);
  for (const other of state.others) drawOther(line, other);
  drawNow(line, state.frame);
}

// Each picture stands for the time it covers; pictures side by side, as many as fit.
function drawFilm({ pen, from, to, x, framesWide }, film) {
  const wide = film.width(FILM.height);
  for (let frame = from; frame < to; frame += framesWide(wide)) {
    film.draw(pen, frame, x(frame), FILM.top, Math.min(wide, x(to) - x(frame)), wide, FILM.height);
  }
}

function paleUnread(line, { watched, skimmed }, frames) {
  line.pen.fillStyle = line.colours.paper;
  line.pen.globalAlpha = 0.5;
  for (const [start, end] of gaps([...watched, ...skimmed], frames)) bar(line, start, end, FILM);
  line.pen.globalAlpha = 1;
}

// What cannot be watched yet is hatched, and says so where there is room.
function drawBeyond({ pen, colours }, left, right) {
  pen.save();
  pen.beginPath();
  pen.rect(left, FILM.top, right - left, FILM.height);
  pen.clip();
  pen.strokeStyle = colours.hatch;
  for (let at = left - FILM.height; at < right; at += 7) {
    pen.beginPath();
    pen.moveTo(at, FILM.top + FILM.height);
    pen.lineTo(at + FILM.height, FILM.top);
    pen.stroke();
  }
  pen.font = "12px sans-serif";
  const words = "not made yet";
  const wide = pen.measureText(words).width;
  if (right - left > wide + 24) {
    pen.fillStyle = colours.paper;
    pen.fillRect(left + 8, FILM.top + 13, wide + 8, 18);
    pen.fillStyle = colours.ink;
    pen.fillText(words, left + 12, FILM.top + 26);
  }
  pen.restore();
}

function drawPeaks({ pen, from, to, x, colours }, outline, channel) {
  pen.fillStyle = colours.faint;
  const step = Math.max(1, (to - from) / Math.max(1, x(to)));
  for (let frame = from; frame < to; frame += step) {
    const high = (outline.loudest(Math.floor(frame), Math.min(frame + step, to), channel) / 255) * PEAKS.height;
    pen.fillRect(x(frame), PEAKS.top + PEAKS.height - high, Math.max(1, x(frame + step) - x(frame) - 0.3), high);
  }
}

// Watched is solid, skimmed is hatched, unwatched is an empty line.
function drawSeen(line, { watched, skimmed }) {
  const { pen, from, to, x, colours } = line;
  pen.strokeStyle = colours.hatch;
  pen.strokeRect(0.5, SEEN.top + 0.5, Math.max(0, x(to) - 1), SEEN.height - 1);
  pen.fillStyle = colours.watched;
  for (const [start, end] of watched) bar(line, start, end, SEEN);
  pen.fillStyle = colours.hatch;
  for (const [start, end] of skimmed) {
    const [left, right] = [x(Math.max(start, from)), x(Math.min(end, to))];
    for (let at = left; at < right; at += 4) pen.fillRect(at, SEEN.top, Math.min(2, right - at), SEEN.height);
  }
}

function bar({ pen, from, to, x }, start, end, { top, height }) {
  if (end <= from || start >= to) return;
  pen.fillRect(x(Math.max(start, from)), top, x(Math.min(end, to)) - x(Math.max(start, from)), height);
}

function drawSelect(line, select, active) {
  const { pen, from, to, x, colours } = line;
  if (select.out_frame <= from || select.in_frame >= to) return;
  const [left, right] = [x(Math.max(select.in_frame, from)), x(Math.min(select.out_frame, to))];
  pen.fillStyle = colours.accent;
  pen.globalAlpha = active ? 0.34 : 0.2;
  pen.fillRect(left, BAND.top, right - left, BAND.height);
  pen.globalAlpha = 1;
  // One that was carried over from another camera has a broken line below it.
  if (select.carried_from) dashes(pen, left, right, BAND.top + BAND.height - 3, 3);
  else pen.fillRect(left, BAND.top + BAND.height - 3, right - left, active ? 4 : 3);
  if (select.in_frame >= from) pen.fillRect(left, BAND.top, 2, BAND.height);
  if (select.out_frame <= to) pen.fillRect(right - 2, BAND.top, 2, BAND.height);
}

// Its tags, in the row below where another select's stand already.
function drawWords({ pen, from, to, x, colours }, select, ends) {
  const words = select.tags.join(", ");
  const [left, right] = [x(Math.max(select.in_frame, from)), x(Math.min(select.out_frame, to))];
  if (!words || right - left < 24) return;
  pen.font = "600 11px sans-serif";
  const wide = pen.measureText(words).width;
  if (select.in_frame < from && wide > right - left - 8) return; // they stand in the line where it begins
  const row = Math.max(0, ends.findIndex((end) => end <= left));
  ends[row] = Math.min(right, left + 8 + wide);
  pen.save();
  pen.beginPath();
  pen.rect(left + 2, PEAKS.top, right - left - 4, PEAKS.height);
  pen.clip();
  pen.lineWidth = 3;
  pen.strokeStyle = colours.paper;
  pen.fillStyle = colours.ink;
  pen.strokeText(words, left + 5, WORDS[row]);
  pen.fillText(words, left + 5, WORDS[row]);
  pen.restore();
}

// A field note is a flag above the film.
function drawNote({ pen, from, to, x, colours }, frame) {
  if (frame < from || frame >= to) return;
  pen.fillStyle = colours.accent;
  pen.beginPath();
  pen.moveTo(x(frame), 0);
  pen.lineTo(x(frame) + 9, 4);
  pen.lineTo(x(frame), 8);
  pen.fill();
  pen.fillRect(x(frame), 0, 1.5, FILM.top + FILM.height);
}

// An open mark grows with what is shown: dashed where it is still open.
function drawOpen({ pen, from, to, x, colours }, [start, end], marked) {
  if (end > from && start < to) {
    const [left, right] = [x(Math.max(start, from)), x(Math.min(end, to))];
    pen.fillStyle = colours.accent;
    pen.globalAlpha = 0.14;
    pen.fillRect(left, BAND.top, right - left, BAND.height);
    pen.globalAlpha = 1;
    dashes(pen, left, right, BAND.top + BAND.height - 3, 3);
  }
  pen.fillStyle = colours.accent;
  if (marked >= from && marked < to) pen.fillRect(x(marked), 0, 2, LINE);
}

function dashes(pen, left, right, top, height) {
  for (let at = left; at < right; at += 8) pen.fillRect(at, top, Math.min(5, right - at), height);
}

// Where somebody else is, by their name.
function drawOther({ pen, from, to, x, colours }, { person, frame }) {
  if (frame < from || frame >= to) return;
  pen.fillStyle = colours.faint;
  for (let at = 0; at < SEEN.top; at += 6) pen.fillRect(x(frame), at, 2, 3);
  pen.font = "600 10px sans-serif";
  const wide = pen.measureText(person).width + 6;
  pen.fillRect(x(frame), FILM.top, wide, 13);
  pen.fillStyle = colours.paper;
  pen.fillText(person, x(frame) + 3, FILM.top + 10);
}

function drawNow({ pen, from, to, x, colours }, frame) {
  if (frame < from || frame >= to) return;
  pen.fillStyle = colours.ink;
  pen.fillRect(x(frame), 0, 2, SEEN.top + SEEN.height + 4);
}
