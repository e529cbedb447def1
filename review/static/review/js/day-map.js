// The days page: the map, its keys and buttons, the place in the address, and the list that says the same in words.

import { Clips, frameAt, nearestOf } from "./day-map-clips.js";
import { Days } from "./day-map-days.js";
import { COLOURS, drawMap, hatching, heightOf, LEFT, rowAt } from "./day-map-draw.js";
import { listenToHand } from "./day-map-hand.js";
import { clock, DAY, dayOf, dayWords, HOUR, midnight, MINUTE, View, WEEK } from "./day-map-view.js";
import { morph } from "./live-morph.js";

const SPANS = { week: WEEK, day: DAY, hour: HOUR, minute: MINUTE };
const facts = JSON.parse(document.getElementById("facts").textContent);
const box = document.getElementById("map");
const canvas = box.querySelector("canvas");
const pen = canvas.getContext("2d");
const shown = { cameras: facts.cameras, chosen: null, focused: false };
const days = new Days((day) => `${facts.api.replace("0000-00-00", day)}?production=${facts.production}`, arrived);
let view = first();
let clips = new Clips([]);
let colours = {};
let hatch = null;
let [drawing, fitted, listed] = [false, new URLSearchParams(location.search).has("span"), facts.day];

// Where the address says, else around what was shot that day.
function first() {
  const query = new URLSearchParams(location.search);
  const [begin, end] = [midnight(facts.days[0]), midnight(facts.days.at(-1)) + DAY];
  const time = /^(-?)(\d\d?):(\d\d):(\d\d)$/.exec(query.get("from") ?? "");
  const from = time ? (time[1] ? -1 : 1) * (time[2] * HOUR + time[3] * MINUTE + time[4] * 1000) : 0;
  return new View(midnight(facts.day) + from, Number(query.get("span")) * 1000 || DAY, begin, end);
}

function fit() {
  const mine = clips.all.filter((clip) => dayOf(clip.start) === facts.day);
  if (!mine.length) return false;
  const [from, to] = [mine[0].start, Math.max(...mine.map((clip) => clip.end))];
  const span = Math.max(10 * MINUTE, (to - from) * 1.08);
  view.set((from + to) / 2 - span / 2, span);
  return true;
}

function arrived(problem) {
  const said = document.getElementById("trouble");
  said.hidden = !problem;
  said.textContent = problem ? `The map cannot be brought up to date: ${problem.message} It is tried again.` : "";
  if (problem) return;
  gather();
  if (!fitted && fit()) {
    fitted = true;
    moved();
  }
  pointTheWay();
  draw();
}

function gather(anew = false) {
  clips = new Clips(days.of(view, facts.days, anew));
}

// However much changes at once, it is drawn once.
function draw() {
  if (drawing) return;
  drawing = true;
  requestAnimationFrame(() => {
    drawing = false;
    const scale = devicePixelRatio || 1;
    const [width, height] = [box.clientWidth, heightOf(shown.cameras.length)];
    if (canvas.width !== Math.round(width * scale) || canvas.height !== Math.round(height * scale)) {
      canvas.width = Math.round(width * scale);
      canvas.height = Math.round(height * scale);
    }
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    drawMap(pen, { width, height }, view, clips, shown, colours, hatch);
  });
}

let before = "";
function moved() {
  const wanted = `${view.days(facts.days)} ${view.level} ${view.level ? "" : Math.floor(view.from / HOUR)} ${view.level ? "" : Math.ceil(view.to / HOUR)}`;
  if (wanted !== before) gather();
  before = wanted;
  pointTheWay();
  draw();
  settle();
}

// What somebody has moved to is not left for where the day begins, however late its clips come.
function movedByHand() {
  fitted = true;
  moved();
}

let settling;
function settle() {
  clearTimeout(settling);
  settling = setTimeout(() => {
    const day = nearestDay();
    const query = new URLSearchParams(location.search);
    if (day !== query.get("day")) query.delete("page");
    const from = view.from - midnight(day);
    query.set("day", day);
    query.set("from", `${from < 0 ? "-" : ""}${timeOf(Math.abs(from))}`);
    query.set("span", Math.round(view.span / 1000));
    history.replaceState(null, "", `?${query}`);
    if (day !== listed) list(day);
  }, 250);
}

function timeOf(ms) {
  const seconds = Math.round(ms / 1000);
  return [seconds / 3600, (seconds / 60) % 60, seconds % 60].map((part) => String(Math.floor(part)).padStart(2, "0")).join(":");
}

// The shoot day whose noon is nearest to the middle of the view.
function nearestDay() {
  const away = (day) => Math.abs(midnight(day) + DAY / 2 - view.middle);
  return facts.days.reduce((best, day) => (away(day) < away(best) ? day : best));
}

// The list below follows the day that is looked at.
async function list(day) {
  listed = day;
  const response = await fetch(`?${new URLSearchParams({ production: facts.production, day })}`, { headers: { "X-Live": "yes" } });
  if (!response.ok || response.redirected || listed !== day) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  for (const id of ["live", "strip"]) morph(document.getElementById(id), page.getElementById(id));
}

// Where nothing is in view, a button says where footage lies, and leads there.
const signpost = document.getElementById("to-footage");

function nearestFootage() {
  return clips.nearest(view.middle) ?? nearestOf(days.wholeDay(nearestDay()), view.middle);
}

function pointTheWay() {
  const lost = !clips.all.some((clip) => view.shows(clip.start, clip.end));
  const clip = lost ? nearestFootage() : null;
  signpost.hidden = !clip;
  if (!clip) return;
  const words = `${dayWords(clip.start)}, ${clock(clip.start)}`;
  const earlier = clip.start < view.from;
  signpost.textContent = earlier ? `◂ Footage lies earlier: ${words}` : `Footage lies later: ${words} ▸`;
}

signpost.addEventListener("click", () => {
  const clip = nearestFootage();
  if (!clip) return;
  show(clip);
  choose(clip, true);
  movedByHand();
  box.focus();
});

function show(clip) {
  view.reveal(clip.start, Math.min(clip.end, clip.start + view.span / 2));
}

// Words --------------------------------------------------------------------------------------------

// The nearest, but never 100 for less than all, nor 0 for anything at all.
function percent(part, whole) {
  const nearest = Math.round((100 * part) / whole);
  return part > 0 && part < whole ? Math.min(Math.max(nearest, 1), 99) : nearest;
}

function describe(clip) {
  if (!clip) return "";
  const share = (part) => `${percent(part, clip.frames)} %`;
  const marks = `${clip.selectCount} select${clip.selectCount === 1 ? "" : "s"}`;
  return `Camera ${clip.camera}, ${clock(clip.start)} to ${clock(clip.end)}: ${clip.card} ${clip.name}; ${share(clip.watched)} watched, ${share(clip.skimmed)} skimmed, ${marks}`;
}

function choose(clip, aloud) {
  shown.chosen = clip?.id ?? null;
  document.getElementById("pointed").textContent = clip ? `${describe(clip)}.` : facts.hint;
  if (aloud) document.getElementById("aloud").textContent = clip ? `${describe(clip)}. Enter opens it.` : "";
  draw();
}

// The hand and the keys ----------------------------------------------------------------------------

const timeAt = (x) => view.from + ((x - LEFT) / (box.clientWidth - LEFT)) * view.span;

function clipAt(x, y) {
  const row = x > LEFT ? rowAt(y, shown.cameras, clips.lanes) : null;
  return row && clips.at(timeAt(x), row.camera, row.lane, (3 / box.clientWidth) * view.span);
}

function noteAt(x, y) {
  if (y < heightOf(shown.cameras.length) - 26) return null;
  const near = (7 / box.clientWidth) * view.span;
  return clips.notes.filter((note) => Math.abs(note.at - timeAt(x)) < near);
}

function open(clip, time) {
  location.href = `${facts.clip.replace("/0/", `/${clip.id}/`)}?frame=${frameAt(clip, time)}`;
}

listenToHand(box, {
  pan: (pixels) => (view.pan(pixels / (box.clientWidth - LEFT)), movedByHand()),
  // The time under the pointer stays there, or the clip that is pointed at: that may lie a few pixels beside.
  zoom(factor, x, y) {
    const [time, clip] = [timeAt(x), clipAt(x, y)];
    const kept = clip ? Math.min(Math.max(time, clip.start), clip.end - 1) : time;
    view.zoomAt(factor, kept, (time - view.from) / view.span);
    point(x, y);
    movedByHand();
  },
  point,
  open(x, y) {
    const clip = clipAt(x, y);
    if (clip) open(clip, timeAt(x));
  },
});

function point(x, y) {
  if (x === null) return;
  const notes = noteAt(x, y);
  if (notes?.length) {
    const words = notes.map((note) => `${clock(note.at)} ${note.text}${note.rolling ? "" : " (no footage)"}`);
    document.getElementById("pointed").textContent = words.slice(0, 4).join(" · ");
    return;
  }
  const clip = clipAt(x, y);
  box.classList.toggle("on-clip", Boolean(clip));
  if (clip) choose(clip, false);
}

function go(step) {
  const from = clips.byId.get(shown.chosen) ?? null;
  const clip = from ? step(from) : clips.nearest(view.middle);
  if (!clip) return;
  show(clip);
  choose(clip, true);
  moved();
}

// Page up and down go to the shoot day before and after; what was chosen stays behind.
function otherDay(way) {
  const day = facts.days[facts.days.indexOf(nearestDay()) + way];
  if (!day) return;
  view.set(midnight(day) + DAY / 2 - view.span / 2);
  choose(null, true);
  moved();
}

const KEYS = {
  ArrowLeft: (event) => (event.shiftKey ? (view.pan(-0.2), moved()) : go((clip) => clips.beside(clip, -1))),
  ArrowRight: (event) => (event.shiftKey ? (view.pan(0.2), moved()) : go((clip) => clips.beside(clip, 1))),
  ArrowUp: () => go((clip) => clips.across(clip, -1, shown.cameras)),
  ArrowDown: () => go((clip) => clips.across(clip, 1, shown.cameras)),
  Home: () => go((clip) => clips.all.find((each) => each.camera === clip.camera)),
  End: () => go((clip) => clips.all.findLast((each) => each.camera === clip.camera)),
  PageUp: () => otherDay(-1),
  PageDown: () => otherDay(1),
  "+": () => zoom(0.5),
  "=": () => zoom(0.5),
  "-": () => zoom(2),
  Enter() {
    const clip = clips.byId.get(shown.chosen);
    if (clip) open(clip, clip.start);
  },
};

// Without a pointer: around the clip that is chosen, if it is in view, else around the footage nearest to the middle.
function zoom(factor) {
  const chosen = clips.byId.get(shown.chosen);
  const clip = chosen && view.shows(chosen.start, chosen.end) ? chosen : nearestFootage();
  if (!clip || (clip.start <= view.middle && view.middle < clip.end)) view.zoom(factor);
  else {
    view.zoom(factor, clip.start);
    show(clip);
  }
  moved();
}

box.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || !KEYS[event.key]) return;
  event.preventDefault();
  fitted = true;
  KEYS[event.key](event);
});
for (const name of ["focus", "blur"]) box.addEventListener(name, () => ((shown.focused = name === "focus"), draw()));

document.getElementById("map-buttons").addEventListener("click", ({ target }) => {
  const button = target.closest("button");
  if (!button) return;
  const { span, zoom: times, pan } = button.dataset;
  if (span) zoom(SPANS[span] / view.span);
  else if (times) zoom(Number(times));
  else if (pan) view.pan(Number(pan));
  movedByHand();
});

// What it looks like --------------------------------------------------------------------------------

function light() {
  const style = getComputedStyle(document.documentElement);
  for (const name of COLOURS) colours[name] = style.getPropertyValue(`--${name}`).trim();
  hatch = hatching(pen, colours);
  draw();
}

document.addEventListener("light-changed", light);
document.addEventListener("news", ({ detail }) => {
  if (["watching", "selects", "cards", "notes"].some((name) => detail.has(name))) gather(true);
});
new ResizeObserver(draw).observe(box);
light();
choose(null, false);
moved();
