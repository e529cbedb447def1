// The watching page: ties the player, the sheet, the marks and the keys together.

import { call } from "./api.js";
import { Conflicts } from "./conflicts.js";
import { bind, writeHelp } from "./keys.js";
import { MarkForm } from "./mark-form.js";
import { Marks } from "./marks.js";
import { Outbox } from "./outbox.js";
import { Player } from "./player.js";
import { gaps } from "./ranges.js";
import { sendSelect } from "./select-calls.js";
import { SelectList } from "./select-list.js";
import { LINE_LENGTHS, Sheet } from "./sheet.js";
import { Timebase } from "./timecode.js";
import { WatchLog } from "./watch-log.js";

const facts = JSON.parse(document.getElementById("facts").textContent);
const timebase = new Timebase(...facts.rate, facts.drop);
const label = (frame) => timebase.label(facts.start + frame);
const page = (id) => document.getElementById(id);

const outbox = new Outbox(facts.person, facts.clip, sendSelect);
const marks = new Marks(facts.clip, facts.person, facts.selects, outbox);
const sheet = new Sheet(page("sheet"), facts, timebase);
const list = new SelectList(page("selects"), label, outbox.refused);
const conflicts = new Conflicts(page("conflict"), page("conflict-text"), marks, label);
const form = facts.mayMark ? new MarkForm(page("mark"), facts.tags) : null;
const player = facts.ready ? new Player(page("video"), timebase, facts.frames) : null;
const seen = { watched: [], skimmed: [] };
let active = null; // the id of the select that keys and the form change
let draft = null; // an in frame without its out

// What the server says -------------------------------------------------------------------------

async function sendWatched(batch, spans, keepalive) {
  const answer = await call("POST", facts.api.watched, { viewing: facts.viewing, batch, spans }, { keepalive });
  showSeen(answer);
}

function showSeen(answer) {
  seen.watched = answer.watched;
  seen.skimmed = answer.skimmed;
  sheet.show({ ...seen });
  const part = (frames) => `${Math.floor((100 * frames) / facts.frames)} %`;
  page("coverage").textContent =
    `${part(answer.watched_frames)} watched, ${part(answer.skimmed_frames)} skimmed`;
}

function showTrouble(words) {
  page("trouble").textContent = words;
  page("trouble").hidden = !words;
}

function showSaved() {
  const saved = page("saved");
  const refused = outbox.refused.size;
  saved.className = `saved ${refused ? "bad" : outbox.waiting ? "waiting" : ""}`;
  if (refused) saved.textContent = `${refused} not saved: see the list`;
  else if (outbox.waiting) saved.textContent = `${outbox.waiting} kept here, not sent yet`;
  else saved.textContent = "all saved";
}

outbox.addEventListener("change", showSaved);
outbox.addEventListener("sent", () => showTrouble(""));
outbox.addEventListener("away", ({ detail: problem }) => {
  const why = problem.status === 401 ? "You are signed out: sign in again in another tab." : problem.message;
  showTrouble(`${why} Go on working: your marks are kept in this browser and sent as soon as possible.`);
});
outbox.addEventListener("refused", ({ detail: { id, problem } }) => {
  if (problem.status === 409 && problem.body.current) conflicts.ask(id, problem.body.current);
  else showMarks();
});

// Showing --------------------------------------------------------------------------------------

function showMarks() {
  if (active && !marks.get(active)) active = null;
  const all = marks.all;
  sheet.show({ selects: all, active, draft });
  list.show(all, active);
  page("select-count").textContent = all.length || "";
  const select = active ? marks.get(active) : undefined;
  if (!form) return;
  page("in").textContent = draft !== null ? label(draft) : select ? label(select.in_frame) : "–";
  page("out").textContent = draft !== null || !select ? "–" : label(select.out_frame);
  const title = select
    ? `Select ${all.indexOf(select) + 1}: ${timebase.seconds(select.out_frame - select.in_frame).toFixed(1)} s`
    : draft === null
      ? "Mark in and out to make a select"
      : "In is marked: O marks out";
  form.show(draft === null ? select : undefined, title);
}

function choose(id, go = false) {
  active = id;
  draft = null;
  clearProof("in");
  clearProof("out");
  showMarks();
  if (go && id) player?.seek(marks.get(id).in_frame);
}

marks.addEventListener("change", showMarks);
list.addEventListener("choose", ({ detail: id }) => choose(id, true));
list.addEventListener("drop", ({ detail: id }) => marks.forget(id));
sheet.addEventListener("go", ({ detail: frame }) => player?.seek(frame));

// Doing ----------------------------------------------------------------------------------------

const proof = (name) => page(`${name}-proof`);

function markIn() {
  draft = player.take(proof("in"));
  active = null;
  clearProof("out");
  showMarks();
}

function markOut() {
  const out = player.take(proof("out")) + 1; // the frame on the screen is kept
  if (draft === null) return active ? move({ out_frame: out }) : say("Mark in first, with I.");
  if (out <= draft) return say(`Out (${label(out - 1)}) is before in (${label(draft)}): go on, or mark in again.`);
  say("");
  active = marks.make(draft, out);
  draft = null;
  showMarks();
}

function move(changes) {
  const select = marks.get(active);
  if (!select) return;
  const { in_frame, out_frame } = { ...select, ...changes };
  if (in_frame >= out_frame) say("In must stay before out.");
  else {
    say("");
    marks.change(active, changes);
  }
}

function clearProof(name) {
  const canvas = proof(name);
  canvas?.getContext("2d").clearRect(0, 0, canvas.width, canvas.height);
}

function say(words) {
  showTrouble(words);
}

// To the start of the next unseen stretch ahead: of this clip, then of the production, which comes round again.
function nextUnwatched() {
  const unseen = gaps([...seen.watched, ...seen.skimmed, ...watchLog.seen], facts.frames);
  const next = unseen.find(([start]) => start > player.frame);
  if (next) player.seek(next[0]);
  else watchLog.flush().finally(() => (location.href = facts.next));
}

function otherSelect(direction) {
  const all = marks.all;
  if (!all.length) return;
  const ahead = all.findIndex((select) => select.in_frame > player.frame);
  const here = all.findIndex((select) => select.id === active);
  const from = here >= 0 ? here : (ahead < 0 ? all.length : ahead) - (direction > 0 ? 1 : 0);
  choose(all[Math.max(0, Math.min(all.length - 1, from + direction))].id, true);
}

const DOING = {
  toggle: () => player.toggle(),
  forwards: () => player.shuttle(1),
  backwards: () => player.shuttle(-1),
  stepFrame: (key) => player.step(key.endsWith("→") ? 1 : -1),
  stepSecond: (key) => player.step(key.endsWith("→") ? timebase.nominal : -timebase.nominal),
  toEdge: (key) => (player.pause(), player.seek(key === "Home" ? 0 : facts.frames - 1)),
  mute: () => (player.muted = !player.muted),
  nextUnwatched,
  otherSelect: (key) => otherSelect(key === "↓" ? 1 : -1),
  letGo: () => choose(null),
  help: () => page("keys").showModal(),
};
const MARKING = {
  markIn,
  markOut,
  moveIn: () => active && move({ in_frame: player.take(proof("in")) }),
  moveOut: () => active && move({ out_frame: player.take(proof("out")) + 1 }),
  rate: (key) => active && marks.change(active, { rating: Number(key) }),
  note: () => form.writeNote(),
  delete: () => active && marks.delete(active),
  undo: () => choose(marks.undo()),
  redo: () => choose(marks.redo()),
};

function act(intent, key) {
  if (!player && intent !== "help") return;
  if (DOING[intent]) DOING[intent](key);
  else if (facts.mayMark) MARKING[intent](key);
  else say("Your role in this production does not mark selects; ask its owner.");
}

bind(document, act, (letter) => {
  if (!active || draft !== null || !form) return false;
  return form.toggleKey(letter);
});
writeHelp(page("keys-table"), form?.tags ?? []);
for (const [id, intent] of Object.entries({
  play: "toggle",
  mute: "mute",
  "next-unwatched": "nextUnwatched",
  "keys-button": "help",
  "mark-in": "markIn",
  "mark-out": "markOut",
})) {
  page(id)?.addEventListener("click", () => act(intent, ""));
}
// After the mouse the focus goes back to the page, so that Space plays and does not press the button again.
document.addEventListener("click", (event) => event.detail && event.target.closest("button, summary")?.blur());
form?.addEventListener("change", ({ detail: changes }) => active && marks.change(active, changes));
form?.addEventListener("done", () => page("main").focus({ preventScroll: true }));

for (const seconds of LINE_LENGTHS) {
  const words = seconds < 60 ? `${seconds} s` : `${seconds / 60} min`;
  page("line-length").add(new Option(words, seconds, false, seconds === sheet.lineLength));
}
page("line-length").addEventListener("change", (event) => sheet.setLineLength(Number(event.target.value)));

for (const button of document.querySelectorAll("#take, [data-hand-back]")) {
  button.addEventListener("click", async () => {
    try {
      const stint = button.dataset.handBack;
      if (stint) await call("DELETE", `${facts.api.stints}${stint}/`);
      else await call("POST", facts.api.stints, { clip: facts.clip });
      location.reload();
    } catch (problem) {
      say(problem.message);
    }
  });
}

// Watching -------------------------------------------------------------------------------------

const watchLog = new WatchLog(timebase, sendWatched);

if (player) {
  player.addEventListener("frame", ({ detail: { frame } }) => {
    page("timecode").textContent = label(frame);
    sheet.show({ frame });
    if (player.speed > 0) watchLog.shown(frame, player.speed, player.muted);
  });
  player.addEventListener("change", () => {
    const speed = player.speed;
    watchLog.end(player.take());
    if (speed > 0) watchLog.shown(player.take(), speed, player.muted); // it is there: no callback comes for it
    page("speed").textContent = speed === 0 ? "still" : speed === 1 ? "playing" : speed < 0 ? `back ${-speed}×` : `${speed}×`;
    page("play").textContent = player.playing ? "Pause" : "Play";
    page("play").setAttribute("aria-pressed", String(player.playing));
    page("mute").setAttribute("aria-pressed", String(player.muted));
  });
  page("video").addEventListener("seeking", () => watchLog.cut());
  page("video").addEventListener("loadeddata", checkPicture);
  page("video").addEventListener("error", () => say("The proxy cannot be played; load the page again, or ask for it to be made again."));
  page("screen")?.addEventListener("click", () => player.toggle());
  player.seek(facts.frame);
  sheet.show({ frame: facts.frame });
  sendWatched(0, [], false).catch((problem) => say(problem.message)); // opens the viewing: its clock starts
  addEventListener("pagehide", () => watchLog.leave());
} else {
  call("GET", facts.api.watched).then(showSeen, () => {});
}
addEventListener("pagehide", () => document.activeElement?.blur()); // a note that is being written is kept too
showMarks();
showSaved();
outbox.send();

// Some browsers play only the sound of what they cannot decode, and say nothing.
function checkPicture() {
  if (!page("video").videoWidth) say("This browser shows no picture of the proxy: it must be able to play H.264.");
}
