// Drawing the map: rows of cameras, the clips in them by how they were seen, selects, notes, and when nothing rolled.

import { clock, DAY, dayWords, MINUTE } from "./day-map-view.js";

export const LEFT = 54; // px, for the cameras' letters
export const TOP = 34; // for the times
const ROW = 52;
const NOTES = 26;
const [BAND, TICKS] = [{ top: 14, height: 28 }, { top: 3, height: 9 }]; // within a row
export const COLOURS = ["paper", "ink", "faint", "rule", "wash", "accent", "watched", "hatch", "pale", "bad", "focus", "ground"];

/** How high the map is for so many cameras. */
export const heightOf = (cameras) => TOP + cameras * ROW + NOTES;

/** Which camera and lane lie at a height, or null. */
export function rowAt(y, cameras, lanes) {
  const at = Math.floor((y - TOP) / ROW);
  if (!(at in cameras)) return null;
  const many = lanes.get(cameras[at]) ?? 1;
  const within = (y - TOP - at * ROW - BAND.top) / BAND.height;
  return { camera: cameras[at], lane: Math.max(0, Math.min(many - 1, Math.floor(within * many))) };
}

/**
 * Draw what `view` shows of `clips` on `width` pixels. `shown` has the cameras in order, the clip that is chosen and
 * whether the keyboard is here, `colours` the page's by name, `hatch` a pattern.
 */
export function drawMap(pen, { width, height }, view, clips, shown, colours, hatch) {
  const x = (time) => LEFT + ((time - view.from) / view.span) * (width - LEFT);
  const sheet = { pen, width, height, x, view, colours, hatch, cameras: shown.cameras };
  pen.fillStyle = colours.paper;
  pen.fillRect(0, 0, width, height);
  pen.save();
  pen.beginPath();
  pen.rect(LEFT, 0, width - LEFT, height);
  pen.clip();
  drawStill(sheet, clips.still);
  drawTimes(sheet);
  drawClips(sheet, clips);
  drawNotes(sheet, clips.notes);
  const chosen = clips.byId.get(shown.chosen);
  if (chosen) drawChosen(sheet, chosen, clips.lanes, shown.focused);
  pen.restore();
  drawCameras(sheet);
}

function drawStill({ pen, x, view, colours, cameras }, still) {
  for (const [from, to] of still) {
    if (to < view.from || from > view.to) continue;
    const [left, right] = [x(from), x(to)];
    pen.fillStyle = colours.ground;
    pen.fillRect(left, TOP, right - left, cameras.length * ROW);
    if (right - left > 110) words(pen, "nothing rolled", (left + right) / 2, TOP + 11, colours.faint, "center");
  }
}

function drawTimes({ pen, width, height, x, view, colours }) {
  const { step, times } = view.ticks(width - LEFT);
  for (const time of times) {
    const isDay = time % DAY === 0;
    pen.fillStyle = isDay ? colours.hatch : colours.rule;
    pen.fillRect(Math.round(x(time)), isDay ? 0 : 18, isDay ? 2 : 1, height);
    const label = step < MINUTE ? clock(time) : clock(time).slice(0, 5);
    if (step < DAY) words(pen, label, x(time) + 4, 30, colours.faint);
  }
  for (let day = Math.floor(view.from / DAY) * DAY; day < view.to; day += DAY) {
    const left = Math.max(LEFT + 4, x(day) + 6);
    if (x(day + DAY) - left > 74) words(pen, dayWords(day), left, 13, colours.ink);
  }
}

function drawClips(sheet, clips) {
  const { pen, x, view, colours, hatch, cameras } = sheet;
  const rows = new Map(cameras.map((camera, at) => [camera, TOP + at * ROW]));
  const tick = new Map(); // row -> where the last select stands: of several on one pixel one is drawn
  for (const clip of clips.all) {
    if (clip.end < view.from || clip.start > view.to) continue;
    const place = placeOf(clip, rows.get(clip.camera), clips.lanes, x);
    const { left, wide, top, high } = place;
    if (wide > 2.5) {
      pen.fillStyle = colours.paper;
      pen.fillRect(left, top, wide, high);
      const frameX = (frame) => left + (frame / clip.frames) * wide;
      fill(pen, hatch, clip.seen.skimmed, frameX, top, high);
      fill(pen, colours.watched, clip.seen.watched, frameX, top, high);
      pen.strokeStyle = colours.hatch;
      pen.strokeRect(left + 0.5, top + 0.5, Math.max(1, wide - 1), high - 1);
      if (wide > 64 && high > 20) drawName(sheet, clip, place);
    } else {
      pen.fillStyle = narrow(clip, colours);
      pen.fillRect(left, top, Math.max(1, wide), high);
    }
    pen.fillStyle = colours.accent;
    for (const frame of clip.selects) {
      const at = Math.round(left + (frame / clip.frames) * wide);
      if (tick.get(clip.camera) === at || at < LEFT) continue;
      tick.set(clip.camera, at);
      pen.fillRect(at, rows.get(clip.camera) + TICKS.top, 2, TICKS.height);
    }
  }
}

// A clip of a pixel or two shows what most of it is.
function narrow({ frames, watched, skimmed }, colours) {
  if (2 * watched >= frames) return colours.watched;
  return 2 * (watched + skimmed) >= frames ? colours.hatch : colours.faint;
}

function placeOf(clip, row, lanes, x) {
  const high = BAND.height / (lanes.get(clip.camera) ?? 1);
  const left = x(clip.start);
  return { left, wide: x(clip.end) - left, top: row + BAND.top + clip.lane * high, high: high - (high < BAND.height) };
}

function fill(pen, style, ranges, frameX, top, high) {
  pen.fillStyle = style;
  for (let at = 0; at < ranges.length; at += 2) {
    const left = frameX(ranges[at]);
    pen.fillRect(left, top, Math.max(0.7, frameX(ranges[at + 1]) - left), high);
  }
}

// On a label of its own, since what is below it may be of any colour.
function drawName({ pen, colours }, clip, { left, wide, top, high }) {
  const begin = Math.max(left, LEFT) + 4;
  pen.font = "12px sans-serif";
  const long = pen.measureText(clip.name).width;
  if (begin + long + 10 > left + wide) return;
  pen.fillStyle = colours.paper;
  pen.fillRect(begin, top + high / 2 - 8, long + 8, 16);
  words(pen, clip.name, begin + 4, top + high / 2 + 4, colours.ink);
}

function drawNotes({ pen, x, view, colours, cameras }, notes) {
  const middle = TOP + cameras.length * ROW + NOTES / 2;
  for (const { at, rolling } of notes) {
    if (at < view.from || at > view.to) continue;
    pen.beginPath();
    for (const [dx, dy] of [[0, -6], [6, 0], [0, 6], [-6, 0]]) pen.lineTo(x(at) + dx, middle + dy);
    pen.closePath();
    pen.fillStyle = rolling ? colours.ink : colours.paper;
    pen.strokeStyle = rolling ? colours.ink : colours.bad;
    pen.lineWidth = 2;
    pen.fill();
    pen.stroke();
    pen.lineWidth = 1;
  }
}

function drawChosen({ pen, x, colours, cameras }, clip, lanes, focused) {
  const { left, wide, top, high } = placeOf(clip, TOP + cameras.indexOf(clip.camera) * ROW, lanes, x);
  pen.lineWidth = 3;
  pen.strokeStyle = focused ? colours.focus : colours.accent;
  pen.strokeRect(left - 3, top - 3, Math.max(1, wide) + 6, high + 6);
  pen.lineWidth = 1;
}

function drawCameras({ pen, height, colours, cameras }) {
  pen.fillStyle = colours.wash;
  pen.fillRect(0, 0, LEFT, height);
  pen.fillStyle = colours.rule;
  pen.fillRect(LEFT - 1, 0, 1, height);
  cameras.forEach((camera, at) => {
    words(pen, camera, LEFT / 2, TOP + at * ROW + 33, colours.ink, "center", "600 15px sans-serif");
    pen.fillStyle = colours.rule;
    pen.fillRect(0, TOP + at * ROW, pen.canvas.clientWidth, 1);
  });
  pen.fillStyle = colours.rule;
  pen.fillRect(0, TOP + cameras.length * ROW, pen.canvas.clientWidth, 1);
  words(pen, "notes", LEFT / 2, TOP + cameras.length * ROW + 17, colours.faint, "center");
}

function words(pen, text, x, y, colour, align = "left", font = "12px sans-serif") {
  pen.font = font;
  pen.textAlign = align;
  pen.fillStyle = colour;
  pen.fillText(text, x, y);
  pen.textAlign = "left";
}

/** The pattern of what was skimmed, as on every meter. */
export function hatching(pen, colours) {
  const tile = new OffscreenCanvas(6, 6);
  const brush = tile.getContext("2d");
  brush.fillStyle = colours.pale;
  brush.fillRect(0, 0, 6, 6);
  brush.strokeStyle = colours.hatch;
  brush.lineWidth = 2;
  for (const shift of [-6, 0, 6]) {
    brush.beginPath();
    brush.moveTo(shift, 6);
    brush.lineTo(shift + 6, 0);
    brush.stroke();
  }
  return pen.createPattern(tile, "repeat");
}
