// Ordering a list: by its buttons, or by dragging. Each change is saved at once.

import { call } from "./api.js";

const table = document.getElementById("entries");
const body = table?.tBodies[0];
let version = Number(table?.dataset.version);
let saving = Promise.resolve();
let dragged = null;

function save() {
  const selects = [...body.rows].map((row) => row.dataset.select);
  [...body.rows].forEach((row, at) => (row.querySelector(".place").textContent = at + 1));
  saving = saving.then(async () => {
    try {
      ({ version } = await call("PUT", table.dataset.list, { selects, version }));
      show("");
    } catch (problem) {
      show(`${problem.message} Load the page again to see the list as it is.`);
    }
  });
}

function show(words) {
  const trouble = document.getElementById("trouble");
  trouble.textContent = words;
  trouble.hidden = !words;
}

function clicked(event) {
  const button = event.target.closest("button");
  const row = button?.closest("tr");
  if (!row) return;
  if ("remove" in button.dataset) row.remove();
  else if (button.dataset.move === "-1") row.previousElementSibling?.before(row);
  else row.nextElementSibling?.after(row);
  save();
  if (row.isConnected) button.focus();
}

function over(event) {
  const row = event.target.closest("tbody tr");
  if (!dragged || !row) return;
  event.preventDefault();
  for (const each of body.rows) each.classList.toggle("drop-here", each === row && row !== dragged);
}

function dropped(event) {
  event.preventDefault();
  const row = event.target.closest("tbody tr");
  if (!dragged || !row || row === dragged) return;
  if (row.rowIndex > dragged.rowIndex) row.after(dragged);
  else row.before(dragged);
  save();
}

if (body) {
  body.addEventListener("click", clicked);
  body.addEventListener("dragstart", (event) => {
    dragged = event.target.closest("tr");
    dragged.classList.add("dragged");
  });
  body.addEventListener("dragover", over);
  body.addEventListener("drop", dropped);
  body.addEventListener("dragend", () => {
    dragged?.classList.remove("dragged");
    for (const each of body.rows) each.classList.remove("drop-here");
    dragged = null;
  });
}
