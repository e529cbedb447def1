// A proposed split: pieces are moved to somebody else, ticked or dragged, and the balance follows.

import { call } from "./api.js";
import { duration } from "./durations.js";
import { PieceDrag } from "./split-drag.js";

const bar = document.getElementById("moving");
const rows = document.getElementById("rows").tBodies[0];
const board = document.getElementById("balance").tBodies[0];
const all = document.getElementById("all");
const to = document.getElementById("to");
const move = document.getElementById("move");
const version = document.getElementById("version");
let sending = Promise.resolve(); // one move after the other: each needs the version that the one before made
let last = null; // the row that was ticked last, for a run of rows with Shift

const boxes = () => [...rows.querySelectorAll("input[type=checkbox]")];
const ticked = () => boxes().filter((box) => box.checked);

function show() {
  const chosen = ticked();
  for (const box of boxes()) box.closest("tr").classList.toggle("ticked", box.checked);
  document.getElementById("count").textContent = chosen.length ? `${chosen.length} ticked` : "none ticked";
  move.disabled = !chosen.length;
  all.checked = chosen.length > 0 && chosen.length === boxes().length;
}

function tickRun(event) {
  const box = event.target.closest("input[type=checkbox]");
  if (!box) return;
  const every = boxes();
  if (event.shiftKey && last) {
    const [start, end] = [every.indexOf(last), every.indexOf(box)].sort((one, other) => one - other);
    for (const each of every.slice(start, end + 1)) each.checked = box.checked;
  }
  last = box;
  show();
}

function trouble(words, again) {
  const box = document.getElementById("trouble");
  box.textContent = words;
  if (again) box.append(" ", Object.assign(document.createElement("a"), { href: location.href, textContent: "Load it again" }));
  box.hidden = !words;
}

/** Give the pieces of `chosen` rows to a logger by name, "" for nobody. */
function give(chosen, name) {
  sending = sending.then(() => send(chosen, name));
}

async function send(chosen, name) {
  const who = name || "nobody";
  const moves = Object.fromEntries(chosen.map((row) => [row.dataset.piece, name || null]));
  move.disabled = true;
  try {
    const split = await call("PUT", bar.dataset.split, { version: Number(version.value), moves });
    version.value = split.version;
    for (const row of chosen) {
      const cell = row.querySelector(".logger");
      row.dataset.logger = name;
      cell.textContent = who;
      cell.classList.add("just-moved");
      row.querySelector("input").checked = false;
    }
    balance(split);
    trouble("");
    document.getElementById("moved").textContent = `${chosen.length} moved to ${who}.`;
  } catch (problem) {
    trouble(problem.message, problem.status === 409);
  }
  show();
}

function balance({ shares, pieces, even, nobodys }) {
  document.getElementById("even").textContent = duration(even);
  const known = new Set();
  for (const share of shares) {
    const row = rowOf(share.logger);
    if (!row) return location.reload(); // somebody who had nothing of it before
    known.add(share.logger);
    put(row, "given", duration(share.given));
    row.dataset.total = share.held + share.given;
    put(row, "total", duration(share.held + share.given));
    for (const each of ["pieces", "days", "stories"]) put(row, each, share[each]);
    if (share.hours) put(row, "off", `${share.off < 0 ? "−" : "+"}${Math.abs(share.off).toFixed(1)} %`);
    row.querySelector("[data-of=off]").classList.toggle("far", share.is_far);
  }
  for (const row of document.querySelectorAll("#balance tbody tr")) {
    if (row.dataset.logger && !known.has(row.dataset.logger)) row.remove();
  }
  rowOf("").dataset.total = nobodys;
  put(rowOf(""), "given", duration(nobodys));
  put(rowOf(""), "pieces", pieces.filter(({ logger }) => logger === null).length);
}

const rowOf = (name) => document.querySelector(`#balance tr[data-logger="${CSS.escape(name)}"]`);

function put(row, name, value) {
  const cell = row.querySelector(`[data-of=${name}]`);
  (cell.querySelector("b") ?? cell).textContent = String(value);
}

/** What a drop would make of the totals: of the row that it is over, and of those it is taken from. */
function foretell(target, moving) {
  for (const row of board.rows) row.querySelector(".would").textContent = "";
  if (!target) return;
  const sums = new Map();
  for (const { dataset } of moving) {
    if (dataset.logger === target.dataset.logger) continue;
    const seconds = Number(dataset.seconds);
    sums.set(target, (sums.get(target) ?? 0) + seconds);
    const from = rowOf(dataset.logger);
    sums.set(from, (sums.get(from) ?? 0) - seconds);
  }
  for (const [row, seconds] of sums) {
    row.querySelector(".would").textContent = `\u2192 ${duration(Math.max(0, Number(row.dataset.total) + seconds))}`;
  }
}

function drop(target, moving) {
  const others = moving.filter(({ dataset }) => dataset.logger !== target.dataset.logger);
  if (others.length) give(others, target.dataset.logger);
}

const together = (row) => (row.querySelector("input").checked ? ticked().map((box) => box.closest("tr")) : [row]);

rows.addEventListener("click", tickRun);
all.addEventListener("change", () => {
  for (const box of boxes()) box.checked = all.checked;
  show();
});
new PieceDrag(rows, board, { taken: together, over: foretell, dropped: drop });
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || event.defaultPrevented || !ticked().length) return; // a drag takes the key for itself
  for (const box of ticked()) box.checked = false;
  show();
});
move.addEventListener("click", () => give(ticked().map((box) => box.closest("tr")), to.value));
show(); // a browser that comes back may have kept the ticks
