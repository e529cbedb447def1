// A list that is put in order: by keys, by buttons, by dragging. Each change is shown and sent at once; where it changes
// more than the order, the table is drawn again by the server when nothing more is on its way.

import { dragRows } from "./list-drag.js";
import { Edits } from "./list-edits.js";
import { chooseExport, save } from "./list-export.js";
import { fillRows } from "./list-filling.js";
import { ListPlayer } from "./list-play.js";
import { ListRows } from "./list-rows.js";
import { askTitle } from "./list-title.js";
import { Trimmer } from "./list-trim.js";
import { morph } from "./live-morph.js";

const SOON = 700; // ms after the last change
const AROUND = ["doing", "news", "only-new", "kept", "deleting"]; // what else of the page the list's state is seen in

const list = document.getElementById("list");
const rows = new ListRows(list);
const edits = new Edits(Number(document.getElementById("total").dataset.version));
const dialog = document.getElementById("trim");
const trimmer = dialog && new Trimmer(dialog, trimmed);
const player = dialog && new ListPlayer(document.getElementById("play"));
const exporting = document.getElementById("export");
const check = exporting && chooseExport(exporting, () => soon(0));
let drawing = null;
let gone = null; // what can be put back

let stale = false; // the page does not say all that the server would

function send(change) {
  show(null);
  stale ||= change.do !== "move" || document.getElementById("total").dataset.merges === "yes";
  edits.send({ method: "POST", url: list.dataset.edit, body: change });
}

function moved(row, { focus = true } = {}) {
  send({ do: "move", selects: [row.dataset.select], ...rows.place(row) });
  rows.count();
  rows.enter(row, { focus });
}

function step(row, by, focus) {
  if (rows.step(row, by)) moved(row, { focus });
}

function takeOut(row) {
  const all = rows.all;
  const next = all[all.indexOf(row) + 1] ?? all[all.indexOf(row) - 1];
  const { in: inFrame, out: outFrame, marked } = row.dataset;
  gone = { row, place: rows.place(row), trim: `${inFrame},${outFrame}` === marked ? null : [inFrame, outFrame].map(Number) };
  row.remove();
  rows.count();
  if (next) rows.enter(next);
  send({ do: "take-out", selects: [gone.row.dataset.select] });
  tell("Taken out of the list; the select itself stays.");
}

function putBack() {
  const { row, place, trim } = gone;
  gone = null;
  tell("");
  stale = true;
  rows.putBack(row, place);
  send({ do: "move", selects: [row.dataset.select], ...place });
  if (trim) send({ do: "trim", selects: [row.dataset.select], in_frame: trim[0], out_frame: trim[1] });
  rows.count();
  rows.enter(row);
}

function trimmed(row, inFrame, outFrame) {
  send({ do: "trim", selects: [row.dataset.select], in_frame: inFrame, out_frame: outFrame });
}

async function beginSection(row) {
  const title = await askTitle(row);
  if (title) send({ do: "section", title, before: row.dataset.select });
  row.focus();
}

const SECTION_ACTS = {
  up: (section) => send({ do: "move-section", section, steps: -1 }),
  down: (section) => send({ do: "move-section", section, steps: 1 }),
  remove: (section) => send({ do: "remove-section", section }),
  rename: async (section, heading) => {
    const words = heading.querySelector("th").firstChild.textContent.trim();
    const title = await askTitle(heading, words);
    if (title && title !== words) send({ do: "rename-section", section, title });
  },
};

function clicked(event) {
  const button = event.target.closest("button");
  const row = event.target.closest("tr[data-select]");
  if (row && !button && !event.target.closest("a")) rows.enter(row);
  if (!button) return;
  const { move, act, sectionAct } = button.dataset;
  if (move) {
    step(row, Number(move), false);
    button.focus();
  } else if ("remove" in button.dataset) takeOut(row);
  else if (act === "trim") trimmer.open(row ?? rows.chosen);
  else if (act === "play") player.open(rows.chosen);
  else if (act === "section") beginSection(rows.chosen);
  else if (sectionAct) SECTION_ACTS[sectionAct](Number(button.closest("tbody").dataset.section), button.closest("tr"));
}

// Keys go to the row that has the focus; with nothing in focus, to the chosen one, as the buttons do.
function key(event) {
  const atRest = event.target === document.body || event.target.id === "main";
  const row = atRest ? rows.chosen : event.target;
  if (!row?.dataset?.select || document.querySelector("dialog[open]") || event.ctrlKey || event.metaKey) return;
  const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  const acts = { " ": (each) => player.open(each), t: (each) => trimmer.open(each), s: beginSection };
  const act = !atRest && event.key === "Delete" ? takeOut : acts[event.key.toLowerCase()];
  if (by && event.altKey) step(row, by, true);
  else if (by) {
    const all = rows.all;
    const next = all[all.indexOf(row) + by];
    if (!next) return;
    rows.enter(next);
  } else if (act && !event.altKey) act(row);
  else return;
  event.preventDefault();
}

async function exportLink(event) {
  const link = event.target.closest?.("a[data-export]");
  if (!link) return;
  event.preventDefault();
  let refusal = "";
  try {
    await save(link.href);
  } catch (problem) {
    refusal = problem.message;
  }
  const said = document.getElementById("not-exported");
  said.textContent = refusal;
  said.hidden = !refusal;
  soon(0);
}

// What was refused: nothing is lost, and the person chooses.
function show(problem) {
  const trouble = document.getElementById("trouble");
  trouble.hidden = !problem;
  if (!problem) return trouble.replaceChildren();
  const again = problem.status === 409 || problem.passing;
  trouble.replaceChildren(
    `${problem.message} `,
    ...(again ? [button(problem.status === 409 ? "Do mine on the list as it is now" : "Try again", () => edits.again())] : []),
    " ",
    button("Leave mine, show the list as it is", () => edits.leave()),
  );
}

function tell(words) {
  const done = document.getElementById("done");
  done.hidden = !words;
  done.replaceChildren(words, ...(gone ? [" ", button("Put it back", putBack)] : []));
}

function button(words, act) {
  const made = Object.assign(document.createElement("button"), { type: "button", className: "small", textContent: words });
  made.addEventListener("click", () => (show(null), act()));
  return made;
}

function soon(wait = SOON) {
  clearTimeout(drawing);
  drawing = setTimeout(draw, wait);
}

const busy = () => !edits.idle || list.querySelector(".dragged, tr form");

async function draw() {
  if (busy()) return soon();
  const answer = await fetch(list.dataset.page).catch(() => null);
  if (!answer?.ok || answer.redirected || !edits.idle) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (busy()) return soon();
  for (const id of AROUND) {
    const [old, fresh] = [document, page].map((each) => each.getElementById(id));
    if (old && fresh) morph(old, fresh);
  }
  const here = document.activeElement?.closest?.("tr[data-select]")?.dataset.select;
  const part = document.activeElement?.closest?.("tr button")?.getAttribute("aria-label");
  const chosen = list.querySelector("tr.chosen")?.dataset.select;
  const said = document.getElementById("done").hidden ? null : document.getElementById("done").firstChild.textContent;
  list.replaceChildren(...page.getElementById("list").childNodes);
  stale = false;
  edits.drawn(Number(document.getElementById("total").dataset.version));
  const row = rows.row(here ?? chosen ?? "");
  if (row && dialog) rows.enter(row, { focus: Boolean(here) && !part });
  if (here && part) row?.querySelector(`button[aria-label="${CSS.escape(part)}"]`)?.focus();
  if (said) tell(said);
  ready();
}

// One row is chosen from the start: the one that the address names, or the first.
function ready() {
  fillRows(list);
  if (!dialog || list.querySelector("tr.chosen")) return;
  const named = document.getElementById(location.hash.slice(1));
  const row = named?.dataset.select ? named : rows.all[0];
  if (row) rows.enter(row, { focus: false });
}

list.addEventListener("focusin", (event) => {
  if (event.target.dataset.select && !event.target.classList.contains("chosen")) rows.enter(event.target, { focus: false });
});
edits.addEventListener("done", ({ detail }) => {
  if (detail.said) tell(detail.said);
  const settled = document.querySelector("h1");
  if (settled.textContent !== detail.name) settled.textContent = detail.name;
  if (stale) soon();
  if (exporting?.closest("details").open) check();
});
edits.addEventListener("refused", ({ detail }) => show(detail));
edits.addEventListener("left", () => soon(0));
edits.addEventListener("refused", () => (stale = true));

if (dialog) {
  list.addEventListener("click", clicked);
  document.addEventListener("keydown", key);
  dragRows(list, (row) => moved(row));
  const settings = document.getElementById("settings");
  settings.addEventListener("submit", (event) => {
    event.preventDefault();
    const { name, handles, merge } = settings.elements;
    if (name.value !== name.defaultValue) {
      edits.send({ method: "PUT", url: list.dataset.list, body: { name: name.value } });
      name.defaultValue = name.value;
    }
    send({ do: "settle", handles: Math.round(Number(handles.value) * 1000), merge: merge.checked });
  });
  document.getElementById("order").addEventListener("submit", (event) => {
    event.preventDefault();
    send({ do: "sort", by: event.target.elements.by.value });
  });
}
document.addEventListener("click", exportLink);
ready();
