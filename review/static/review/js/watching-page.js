// The watching page: ties its parts together.

import { AnglesPanel } from "./angles-panel.js";
import { arrival } from "./arrival.js";
import { bindButtons, showKeys } from "./buttons.js";
import { Carrying } from "./carrying.js";
import { ClapDialog } from "./clap.js";
import { Company } from "./company.js";
import { Conflicts } from "./conflicts.js";
import { FieldNotes } from "./field-notes.js";
import { GOING, Going } from "./going.js";
import { followGrowth } from "./growing.js";
import { KeepingDialog } from "./keeping-dialog.js";
import { KeyTable } from "./key-table.js";
import { KeysDialog } from "./keys-dialog.js";
import { bind } from "./keys.js";
import { Loop } from "./looping.js";
import { MarkForm } from "./mark-form.js";
import { MARKING, Marking } from "./marking.js";
import { MarksView } from "./marks-view.js";
import { Marks } from "./marks.js";
import { Outbox } from "./outbox.js";
import { Pace } from "./pace.js";
import { Player } from "./player.js";
import { Proofs } from "./proofs.js";
import { showSending } from "./saved-line.js";
import { SecondLook } from "./second-look.js";
import { Seen } from "./seen.js";
import { sendSelect } from "./select-calls.js";
import { SelectList } from "./select-list.js";
import { LINE_LENGTHS, Sheet } from "./sheet.js";
import { SoundDesk } from "./sound-desk.js";
import { bindStints } from "./stints.js";
import { Store } from "./store.js";
import { Timebase } from "./timecode.js";
import { TimecodeField } from "./timecode-field.js";
import { PLAYING, Transport } from "./transport.js";
import { Trouble } from "./trouble.js";
import { UnseenSelects } from "./unseen-selects.js";
import { keepWatched } from "./watch-left.js";
import { WatchLog } from "./watch-log.js";

const facts = JSON.parse(document.getElementById("facts").textContent);
const timebase = new Timebase(...facts.rate, facts.drop);
const label = (frame) => timebase.label(facts.start + frame);
const page = (id) => document.getElementById(id);
const backToPage = () => page("main").focus({ preventScroll: true });
const trouble = new Trouble(page("trouble"), page("sending"));
const say = (words) => trouble.say(words);

// Marks ----------------------------------------------------------------------------------------

const keys = new KeyTable(facts.habits.keys);
const store = await Store.open();
const outbox = await Outbox.open(facts.person, facts.clip, sendSelect, store);
const marks = new Marks({ id: facts.clip, frames: facts.frames }, facts.person, facts.selects, outbox);
const sheet = new Sheet(page("sheet"), facts, timebase);
const carrying = new Carrying(outbox, facts.origins);
const origin = (select) => carrying.origin(select, () => view.showList());
const list = new SelectList(page("selects"), label, (id) => outbox.standing(id), origin);
const conflicts = new Conflicts(page("conflict"), page("conflict-text"), marks, label);
const form = facts.mayMark ? new MarkForm(page("mark"), facts.tags, keys.letters) : null;
const reach = { frames: facts.proxied }; // that can be watched: all, but of a clip whose proxy is still being made
const player = facts.proxy ? new Player(page("video"), timebase, reach.frames) : null;
const where = () => player?.frame ?? facts.frame;
const proofs = new Proofs(player, timebase, (name) => page(`${name}-proof`));
const marking = new Marking({ facts, marks, form, player, timebase, label, proofs });
const view = new MarksView({ facts, marks, marking, sheet, list, form, keys, timebase, label, page, proofs });

const keeping = facts.mayMark ? new KeepingDialog(page("keeping-dialog")) : null;

keys.addEventListener("change", () => form?.setTaken(keys.letters));
keeping?.addEventListener("kept", ({ detail: { id, kept } }) => marks.learn(id, { worth_keeping: kept }));
form?.addEventListener("done", backToPage);
marking.addEventListener("words", ({ detail: words }) => say(words));
outbox.addEventListener("change", () => view.showList());
outbox.addEventListener("answered", ({ detail: { id } }) => conflicts.forget(id));
outbox.addEventListener("refused", ({ detail: { id, wish, problem } }) => {
  if (problem.status === 409 && problem.body.current) conflicts.ask(id, wish, problem.body.current);
});

// Watching -------------------------------------------------------------------------------------

const seen = new Seen(facts, page("coverage"));
const send = (batch, spans, leaving) => seen.send(batch, spans, leaving);
const log = new WatchLog(timebase, send, (batches) => keepWatched(facts, batches));
const pace = player && new Pace(player, page("pace"), facts.person);
const loop = player && new Loop(player, () => marks.get(marking.active));
const going = new Going({ player, marks, marking, sheet, seen, log, loop, facts, reach, timebase, label, say });
const transport = player && new Transport({ player, pace, loop, log, reach, timebase, label, page });

seen.addEventListener("change", () => sheet.show({ watched: seen.watched, skimmed: seen.skimmed }));
loop?.addEventListener("words", ({ detail: words }) => say(words));

function goTo(frame) {
  loop?.stop();
  going.to(frame);
}

sheet.addEventListener("go", ({ detail: frame }) => goTo(frame));
sheet.addEventListener("mark", ({ detail: range }) => facts.mayMark && (player?.pause(), marking.drag(...range)));
sheet.addEventListener("trim", ({ detail: edge }) => facts.mayMark && (player?.pause(), marking.dragEdge(edge)));
list.addEventListener("choose", ({ detail: id }) => going.toSelect(id));
list.addEventListener("also", ({ detail: id }) => marking.chooseAlso(id));
list.addEventListener("drop", ({ detail: id }) => marks.forget(id));

// What is beside the clip ----------------------------------------------------------------------

const notes = new FieldNotes(facts.notes, page("field-note"), page("field-notes"), timebase.nominal);
const angles = page("angles") && new AnglesPanel(page("angles"), facts);
const clap = page("clap") && new ClapDialog(page("clap"), facts, timebase, label, where, () => angles?.found ?? []);

sheet.show({ notes: facts.notes });
notes.addEventListener("go", ({ detail: frame }) => goTo(frame));
angles?.addEventListener("go", ({ detail: address }) => (location.href = address));
clap?.addEventListener("change", () => angles?.again());
transport?.addEventListener("frame", ({ detail: frame }) => {
  sheet.show({ frame });
  notes.show(frame);
  angles?.show(frame);
});
for (const button of document.querySelectorAll("[data-go]")) {
  button.addEventListener("click", () => goTo(Number(button.dataset.go)));
}

async function hop(direction) {
  if (!(await angles?.hop(direction))) say("Nothing else was rolling at this moment.");
}

// Keys and buttons -----------------------------------------------------------------------------

const field = new TimecodeField(page("go-to"), page("go-refused"), where, facts, timebase);
field.addEventListener("go", ({ detail: frame }) => goTo(frame));
field.addEventListener("done", backToPage);
page("timecode").addEventListener("click", () => field.focus());

const help = new KeysDialog(page("keys"), keys, () => form?.tags ?? [], sheet.colours);
const PAGE = {
  typeTimecode: () => field.focus(),
  nextAngle: () => hop(1),
  angleBefore: () => hop(-1),
  remark: () => page("remark").focus(),
  letGo: () => (loop?.stop(), say(""), marking.letGo()),
  help: () => help.open(),
};
const ANYWAY = new Set(["help", "remark"]); // where there is nothing to play, too

function act(intent) {
  const [name, value] = intent.split(":");
  if (!player && !ANYWAY.has(name)) return;
  if (PLAYING[name]) PLAYING[name](transport);
  else if (GOING[name]) GOING[name](going);
  else if (PAGE[name]) PAGE[name]();
  else if (!facts.mayMark) say("Your role in this production does not mark selects; ask its owner.");
  else if (name === "keeping") say(keeping.open(marks.get(marking.active), page("about-which").textContent));
  else if (name === "carry") carrying.carry(marks.get(marking.active)).then(say);
  else MARKING[name](marking, value);
}

bind(document, (key) => keys.rowOf(key), act, (letter) => Boolean(marking.subject && form?.toggleKey(letter)));
bindButtons(document, act, keys);
const holders = bindStints(page("stints"), facts, label, say);
const unseenSelects = new UnseenSelects({ facts, seen, marks, line: page("left-out") });
const hearStints = (stints) => (holders(stints), unseenSelects.look());
const chosen = () => marks.get(marking.active);
const eyes = new SecondLook({ facts, asked: page("eyes"), dialog: page("eyes-dialog"), label, chosen, say });
page("ask-eyes")?.addEventListener("click", () => eyes.open());
page("clap-button")?.addEventListener("click", () => clap.open());
page("remark").addEventListener("keydown", ({ key }) => ["Enter", "Escape"].includes(key) && (page("remark").blur(), backToPage()));
loop?.addEventListener("change", () => page("loop")?.setAttribute("aria-pressed", String(loop.on)));
if (page("catch-seconds")) {
  page("catch-seconds").value = marking.catchSeconds;
  page("catch-seconds").addEventListener("change", (event) => marking.setCatchSeconds(Number(event.target.value)));
}
for (const seconds of LINE_LENGTHS) {
  page("line-length").add(new Option(seconds < 60 ? `${seconds} s` : `${seconds / 60} min`, seconds));
}
page("line-length").value = sheet.lineLength;
page("line-length").addEventListener("change", (event) => sheet.setLineLength(Number(event.target.value)));
sheet.addEventListener("lines", () => (page("line-length").value = sheet.lineLength));

// Beginning ------------------------------------------------------------------------------------

const arrived = arrival(facts);

if (player) {
  const growing = followGrowth({ facts, player, sheet, timebase, reach, line: page("growing") });
  // Some browsers play only the sound of what they cannot decode, and say nothing.
  page("video").addEventListener("loadeddata", () => {
    if (!page("video").videoWidth) say("This browser shows no picture of the proxy: it must be able to play H.264.");
  });
  page("video").addEventListener("error", () => {
    if (growing) growing.look(); // what was played may have been replaced by something longer
    else say("The proxy cannot be played; load the page again, or ask for it to be made again.");
  });
  if (page("sound")) {
    const sound = new SoundDesk(page("video"), facts.peakChannels, facts.channelNames, facts.card, page("sound"));
    transport.sound = sound;
    sound.addEventListener("change", () => sheet.listenTo(sound.alone));
    if (sound.alone !== null) sheet.listenTo(sound.alone);
  }
  const start = Math.min(facts.frame, reach.frames - 1);
  player.seek(start);
  sheet.show({ frame: start });
  if (start < facts.frame) goTo(facts.frame);
  seen.send(0, [], false).catch((problem) => say(problem.message)); // opens the viewing: its clock starts
  addEventListener("pagehide", () => log.leave());
} else {
  seen.look().catch(() => {});
}
addEventListener("pagehide", () => document.activeElement?.blur()); // a note that is being written is kept too
const writing = () => form?.writing ?? null;
new Company({ facts, marks, seen, sheet, label, where, writing, hearStints }, { here: page("here"), remark: page("remark") });
view.show();
if (arrived) {
  say(arrived);
  player?.addEventListener("change", () => say(""), { once: true }); // it lies over the picture
}
showKeys(document, keys);
showSending(outbox, store, page("saved"), (words, link) => trouble.sending(words, link));
outbox.send();
