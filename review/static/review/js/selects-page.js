// The selects page: what was found, played and marked where it stands. Joins the parts; each knows only its own.

import { bindButtons, showKeys } from "./buttons.js";
import { KeepingDialog } from "./keeping-dialog.js";
import { KeyTable } from "./key-table.js";
import { bind } from "./keys.js";
import { Angles } from "./select-angles.js";
import { Choosing } from "./select-choosing.js";
import { bindFilters } from "./select-filters.js";
import { showKeysHere } from "./select-keys.js";
import { ManyMarks } from "./select-marks.js";
import { playable, stretchOf } from "./select-deck.js";
import { Reel } from "./select-reel.js";
import { Rows } from "./select-rows.js";
import { SelectTags } from "./select-tags.js";
import { Watched } from "./select-watch.js";
import { Trouble } from "./trouble.js";
import { bindWordsBox, goToWords } from "./words-box.js";

const facts = JSON.parse(document.getElementById("selects-facts").textContent);
const page = (id) => document.getElementById(id);
const keys = new KeyTable(facts.habits.keys);

bindFilters(page("search"), facts.tags.map(({ name }) => name));
if (page("results")) bindFound();
else bindNothing();

function bindNothing() {
  bindWordsBox(page("text"), () => {});
  bind(document, (key) => keys.rowOf(key), (intent) => intent === "tag" && goToWords(page("text")), () => false);
}

function bindFound() {
  const rows = new Rows(page("results"), facts.rows, facts.next);
  const reel = new Reel(page("screen"));
  const angles = new Angles();
  const marks = new ManyMarks(facts.person, page("conflict-template"));
  const choosing = facts.mayList ? new Choosing(page("choose"), facts, rows) : null;
  const tags = page("tagboard") && new SelectTags(page("tagboard"), facts.tags, keys.letters);
  const keeping = page("keeping-dialog") && new KeepingDialog(page("keeping-dialog"));
  const trouble = new Trouble(page("trouble"), page("sending"));
  const say = (words) => trouble.say(words);
  const played = new Set(); // the ids of selects: what nobody has looked at here nobody marks here
  let all = false; // whether one is played after the other
  let left = false; // whether what is marked was left for an angle

  new Watched(facts.person, reel);
  tags?.show([]);

  // Playing --------------------------------------------------------------------------------------

  reel.following = async (row) => {
    if (!all) return null;
    let next = await rows.beside(left ? rows.chosen : row);
    while (next && !playable(next)) next = await rows.beside(next);
    return next;
  };

  async function choose(row, play) {
    left = false;
    rows.choose(row);
    if ((await reel.show(row)) && play) reel.play();
  }

  function playAll() {
    all = !all;
    showAll();
    if (!all) return reel.pause();
    if (reel.row) reel.play();
    else rows.beside(null).then((first) => choose(first, true));
  }

  function nameOf(row) {
    return row ? `${row.card} ${row.clip_name} ${row.source_in}` : "";
  }

  function showAll() {
    page("play-all").setAttribute("aria-pressed", String(all));
  }

  async function move(direction) {
    const row = await rows.beside(rows.chosen, direction);
    if (row) choose(row, reel.playing);
    else say(direction > 0 ? "That was the last that was found." : "This is the first that was found.");
  }

  async function turn(direction) {
    if (!rows.chosen) return;
    const { playing } = reel;
    const turned = await angles.turn(direction);
    if (!turned) return say("Nothing else was rolling at this moment.");
    left = turned.stretch !== undefined;
    if ((await reel.show(turned.row, turned.stretch)) && playing) reel.play();
    showNow();
  }

  function toggle() {
    if (!reel.row) return void rows.beside(null).then((first) => choose(rows.chosen ?? first, true));
    reel.toggle();
  }

  rows.addEventListener("choose", ({ detail: row }) => (angles.show(row), showNow()));
  rows.addEventListener("click", ({ detail: { row, play } }) => choose(row, play || reel.playing));
  rows.addEventListener("grown", ({ detail: next }) => {
    choosing?.grown();
    if (page("next-page")) next ? (page("next-page").href = next) : page("next-page").remove();
  });
  reel.addEventListener("frame", () => (page("now-label").textContent = reel.label));
  reel.addEventListener("swap", ({ detail: { to } }) => ((left = false), rows.choose(to)));
  reel.addEventListener("skip", async ({ detail: { to } }) => {
    const next = await rows.beside(to);
    if (next) choose(next, true);
  });
  reel.addEventListener("end", () => ((all = false), showAll()));
  reel.addEventListener("trouble", ({ detail: words }) => say(words));
  reel.addEventListener("change", () => {
    const { playing, speed, muted } = reel;
    if (playing) looked(reel.row);
    page("play").firstChild.textContent = playing ? "Pause " : "Play ";
    page("play").setAttribute("aria-pressed", String(playing));
    page("mute").setAttribute("aria-pressed", String(muted));
    page("speed").textContent = !speed || speed === 1 ? "" : speed < 0 ? `back ${-speed}×` : `${speed}×`;
  });
  angles.addEventListener("change", () => (page("angles").textContent = angles.words));
  page("screen").addEventListener("click", toggle);
  page("handles").addEventListener("change", ({ target }) => {
    reel.handles = Number(target.value);
    if (rows.chosen) reel.show(rows.chosen, stretchOf(rows.chosen, reel.handles));
    target.blur();
  });

  // What is played may be marked: it need not be said any more that it has to be played.
  function looked({ id }) {
    if (played.has(id)) return;
    played.add(id);
    say("");
  }

  // What it says ---------------------------------------------------------------------------------

  function showNow() {
    const row = rows.chosen;
    const shown = left ? reel.row : row;
    page("now-name").textContent = `${shown.card} ${shown.clip_name}`;
    page("now-place").textContent = left ? "another angle" : `${rows.all.indexOf(row) + 1} of ${facts.of}`;
    for (const button of document.querySelectorAll("#about [data-do^=rate]")) {
      button.setAttribute("aria-pressed", String(button.dataset.do === `rate:${row.rating}`));
    }
    if (page("about")) page("about").disabled = false;
    if (page("add-one")) page("add-one").disabled = false;
    page("keeping")?.setAttribute("aria-pressed", String(Boolean(row.worth_keeping)));
    tags?.show(row.tags);
  }

  function mark(does, changes) {
    if (!rows.chosen || !facts.mayMark) return;
    if (!played.has(rows.chosen.id)) return say(`Play it first (${keys.keyOf("toggle")}), then ${does} it.`);
    say("");
    marks.change(rows.chosen, changes);
  }
  const rate = (rating) => mark("rate", (now) => ({ rating: now.rating === rating ? 0 : rating }));
  const toggleTag = (name) => mark("tag", (now) => ({ tags: tags.toggled(now.tags, name) }));

  keeping?.addEventListener("kept", ({ detail: { id, kept } }) => {
    const row = rows.update({ id, worth_keeping: kept });
    marks.learn(row, { worth_keeping: kept });
    showNow();
  });
  tags?.addEventListener("toggle", ({ detail: name }) => toggleTag(name));
  marks.addEventListener("select", ({ detail: select }) => rows.update(select) === rows.chosen && showNow());
  marks.addEventListener("change", () => {
    const { waiting, refused } = marks;
    page("saved").className = `saved ${refused ? "bad" : waiting ? "waiting" : ""}`;
    page("saved").textContent = refused ? `${refused} not saved` : waiting ? `${waiting} on the way` : "all saved";
    if (!waiting) trouble.sending("");
  });
  marks.addEventListener("away", ({ detail: words }) => trouble.sending(`${words} Go on working: your marks are kept in this browser.`));

  // Keys and buttons -------------------------------------------------------------------------------

  const DOES = {
    toggle,
    playAll,
    forwards: () => (reel.row ? reel.shuttle(1) : toggle()),
    backwards: () => reel.shuttle(-1),
    frameOn: () => reel.step(1),
    frameBack: () => reel.step(-1),
    mute: () => (reel.muted = !reel.muted),
    nextSelect: () => move(1),
    selectBefore: () => move(-1),
    nextAngle: () => turn(1),
    angleBefore: () => turn(-1),
    rate: (value) => rate(Number(value)),
    keeping: () => keeping && say(keeping.open(rows.chosen, nameOf(rows.chosen))),
    addToList: () => rows.chosen && choosing?.add([rows.chosen.id], page("added-one")),
    undo: async () => (await marks.undo()) || say("There is nothing to undo here."),
    find: () => goToWords(page("text")),
    openClip: () => rows.chosen && (location.href = `/clips/${reel.row?.clip ?? rows.chosen.clip}/?frame=${reel.frame}`),
    help: () => page("keys").showModal(),
  };
  const rowOf = showKeysHere(page("keys-table"), keys, facts.tags, Object.keys(DOES));
  const act = (intent) => {
    const [name, value] = intent.split(":");
    DOES[name]?.(value);
  };

  bind(document, rowOf, act, (letter) => {
    const tag = rows.chosen && facts.mayMark && tags?.ofKey(letter);
    if (tag) toggleTag(tag);
    return Boolean(tag);
  });
  bindWordsBox(page("text"), async () => choose(await rows.beside(null), reel.playing));
  bindButtons(document, act, keys);
  showKeys(document, keys);
}
