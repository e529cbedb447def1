// The watching page: ties the player, the sheet, the marks and the keys together.

import { call } from "./api.js";
import { Conflicts } from "./conflicts.js";
import { Growing, lasting } from "./growing.js";
import { bind, writeHelp } from "./keys.js";
import { otherSpeech, writeLegend } from "./lanes.js";
import { Listening } from "./listening.js";
import { MarkForm } from "./mark-form.js";
import { MARKING, Marking } from "./marking.js";
import { Marks } from "./marks.js";
import { Outbox } from "./outbox.js";
import { Player } from "./player.js";
import { gaps } from "./ranges.js";
import { showSending } from "./saved-line.js";
import { sendSelect } from "./select-calls.js";
import { SelectList } from "./select-list.js";
import { LINE_LENGTHS, Sheet } from "./sheet.js";
import { Store } from "./store.js";
import { Timebase } from "./timecode.js";
import { WatchLog } from "./watch-log.js";

const facts = JSON.parse(document.getElementById("facts").textContent);
const timebase = new Timebase(...facts.rate, facts.drop);
const label = (frame) => timebase.label(facts.start + frame);
const page = (id) => document.getElementById(id);

const store = await Store.open();
const outbox = await Outbox.open(facts.person, facts.clip, sendSelect, store);
const marks = new Marks({ id: facts.clip, frames: facts.frames }, facts.person, facts.selects, outbox);
const sheet = new Sheet(page("sheet"), facts, timebase);
const list = new SelectList(page("selects"), label, (id) => outbox.standing(id));
const conflicts = new Conflicts(page("conflict"), page("conflict-text"), marks, label);
const form = facts.mayMark ? new MarkForm(page("mark"), facts.tags) : null;
const player = facts.proxy ? new Player(page("video"), timebase, facts.proxied) : null;
let reach = facts.proxied; // frames that can be watched: all of them, but of a clip whose proxy is still being made
const seen = { watched: [], skimmed: [] };
const proof = (name) => page(`${name}-proof`);
const marking = new Marking({ facts, marks, form, player, timebase, label, proof });

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

// What is said stays beside what is in the way of sending.
const troubles = { sending: "", said: "" };

function showTrouble(changes, link) {
  Object.assign(troubles, changes);
  const words = Object.values(troubles).filter(Boolean).join(" ");
  page("trouble").textContent = words;
  page("trouble").hidden = !words;
  if (link) page("trouble").append(" ", newTab(link));
}

function newTab({ href, words }) {
  return Object.assign(document.createElement("a"), { href, textContent: words, target: "_blank" });
}

outbox.addEventListener("change", showList);
outbox.addEventListener("answered", ({ detail: { id } }) => conflicts.forget(id));
outbox.addEventListener("refused", ({ detail: { id, wish, problem } }) => {
  if (problem.status === 409 && problem.body.current) conflicts.ask(id, wish, problem.body.current);
});

// Showing --------------------------------------------------------------------------------------

function showMarks() {
  const { open } = marking;
  const all = marks.all;
  const select = marks.get(marking.active);
  sheet.show({ selects: all, active: select?.id ?? null, draft: open });
  showList();
  page("select-count").textContent = all.length || "";
  if (!form) return;
  const { in_frame = null, out_frame = null } = marking.subject ?? {};
  page("in").textContent = in_frame === null ? "–" : label(in_frame);
  page("out").textContent = out_frame === null ? "–" : label(out_frame);
  form.show(marking.subject, titleOf(select, all, open));
}

function showList() {
  list.show(marks.all, marks.get(marking.active)?.id, marking.also);
}

function titleOf(select, all, open) {
  if (select) {
    const by = select.logger === facts.person ? "" : `, marked by ${select.logger}`;
    const lasts = timebase.seconds(select.out_frame - select.in_frame).toFixed(1);
    return `Select ${all.indexOf(select) + 1}: ${lasts} s${by}`;
  }
  if (!open) return "Mark in and out to make a select";
  const tags = open.tags.map((tag) => ` · ${tag}`).join("");
  return `${open.in_frame === null ? "Out is marked: I marks in" : "In is marked: O marks out"}${tags}`;
}

function choose(id, go = false) {
  marking.choose(id);
  if (go && id) goTo(marks.get(id).in_frame);
}

marking.addEventListener("change", showMarks);
marking.addEventListener("words", ({ detail: words }) => say(words));
marks.addEventListener("change", showMarks);
list.addEventListener("choose", ({ detail: id }) => choose(id, true));
list.addEventListener("also", ({ detail: id }) => marking.chooseAlso(id));
list.addEventListener("drop", ({ detail: id }) => marks.forget(id));
sheet.addEventListener("go", ({ detail: frame }) => goTo(frame));

// Doing ----------------------------------------------------------------------------------------

function goTo(frame) {
  if (!player) return;
  say(frame < reach ? "" : `${label(frame)} cannot be watched yet: the proxy reaches ${label(reach - 1)} so far.`);
  if (frame < reach) player.seek(frame);
}

function say(words) {
  showTrouble({ said: words });
}

// To the start of the next unseen stretch ahead: of this clip, then of the production, which comes round again.
function nextUnwatched() {
  const unseen = gaps([...seen.watched, ...seen.skimmed, ...watchLog.seen], facts.frames);
  const next = unseen.find(([start]) => start > player.frame && start < reach);
  if (next) player.seek(next[0]);
  else watchLog.flush().finally(() => (location.href = facts.next));
}

function otherSelect(direction) {
  const all = marks.all;
  if (!all.length) return;
  const ahead = all.findIndex((select) => select.in_frame > player.frame);
  const here = all.findIndex((select) => select.id === marking.active);
  const from = here >= 0 ? here : (ahead < 0 ? all.length : ahead) - (direction > 0 ? 1 : 0);
  choose(all[Math.max(0, Math.min(all.length - 1, from + direction))].id, true);
}

let speechSought = null; // the frame to go on from, if the key is pressed again before it is there
player?.addEventListener("settled", () => (speechSought = null));

// While it plays, the speech before is not the one that has just begun.
function skipToSpeech(direction) {
  const from = speechSought ?? player.frame - (direction < 0 && player.playing ? timebase.nominal : 0);
  const start = otherSpeech(sheet.lanes, from, direction);
  say(start === undefined ? `No speech was found ${direction > 0 ? "after" : "before"} this.` : "");
  if (start !== undefined) player.seek((speechSought = start));
}

const DOING = {
  toggle: () => player.toggle(),
  forwards: () => player.shuttle(1),
  backwards: () => player.shuttle(-1),
  stepFrame: (key) => player.step(key.endsWith("→") ? 1 : -1),
  stepSecond: (key) => player.step(key.endsWith("→") ? timebase.nominal : -timebase.nominal),
  toEdge: (key) => (player.pause(), player.seek(key === "Home" ? 0 : reach - 1)),
  mute: () => (player.muted = !player.muted),
  nextUnwatched,
  otherSelect: (key) => otherSelect(key === "↓" ? 1 : -1),
  otherSpeech: (key) => skipToSpeech(key === "." ? 1 : -1),
  letGo: () => marking.letGo(),
  help: () => page("keys").showModal(),
};
function act(intent, key) {
  if (!player && intent !== "help") return;
  if (DOING[intent]) DOING[intent](key);
  else if (facts.mayMark) MARKING[intent](marking, key);
  else say("Your role in this production does not mark selects; ask its owner.");
}

bind(document, act, (letter) => Boolean(marking.subject && form?.toggleKey(letter)));
writeHelp(page("keys-table"), form?.tags ?? []);
writeLegend(page("keys-table"), sheet.colours);
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
for (const button of document.querySelectorAll("[data-do]")) {
  button.addEventListener("click", () => act(button.dataset.do, ""));
}
if (page("catch-seconds")) {
  page("catch-seconds").value = marking.catchSeconds;
  page("catch-seconds").addEventListener("change", (event) => marking.setCatchSeconds(Number(event.target.value)));
}
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

// Growing --------------------------------------------------------------------------------------

const growing = player && reach < facts.frames ? new Growing(facts.api.clip, reach) : null;

function showReach() {
  sheet.show({ reach });
  if (!page("growing")) return;
  const far = lasting(timebase.seconds(reach));
  page("growing").textContent =
    reach < facts.frames
      ? `The first ${far} can be watched; the rest is being made.`
      : "The whole clip can be watched now. Load the page again for its film and its sound on the sheet.";
}

growing?.addEventListener("longer", ({ detail: row }) => {
  reach = row.proxied_frames;
  player.grow(row.proxy, reach);
  showReach();
});
growing?.addEventListener("failed", ({ detail: row }) => {
  page("growing").textContent = `The rest could not be made: ${row.proxy_problem}`;
});

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
  page("video").addEventListener("error", () => {
    if (growing) growing.look(); // what was played may have been replaced by something longer
    else say("The proxy cannot be played; load the page again, or ask for it to be made again.");
  });
  page("screen")?.addEventListener("click", () => player.toggle());
  new Listening(page("video"), facts.peakChannels, facts.channelNames, facts.card, page("channels"));
  const start = Math.min(facts.frame, reach - 1);
  player.seek(start);
  sheet.show({ frame: start });
  showReach();
  if (start < facts.frame) goTo(facts.frame);
  sendWatched(0, [], false).catch((problem) => say(problem.message)); // opens the viewing: its clock starts
  addEventListener("pagehide", () => watchLog.leave());
} else {
  call("GET", facts.api.watched).then(showSeen, () => {});
}
addEventListener("pagehide", () => document.activeElement?.blur()); // a note that is being written is kept too
showMarks();
showSending(outbox, store, page("saved"), (words, link) => showTrouble({ sending: words }, link));
outbox.send();

// Some browsers play only the sound of what they cannot decode, and say nothing.
function checkPicture() {
  if (!page("video").videoWidth) say("This browser shows no picture of the proxy: it must be able to play H.264.");
}
