// The tag set: showing the words that somebody looks for, and saying how many are ticked.

import { folded } from "./tag-rules.js";

const filter = document.getElementById("tag-filter");
const chosen = document.getElementById("tags-chosen");
const rows = [...document.querySelectorAll("[data-word]")].map((row) => [row, folded(row.dataset.word)]);

function narrow() {
  const sought = folded(filter.value);
  for (const [row, word] of rows) row.hidden = !word.includes(sought);
  for (const group of document.querySelectorAll(".tag-group")) {
    group.hidden = ![...group.querySelectorAll("[data-word]")].some((row) => !row.hidden);
  }
  document.getElementById("no-tag").hidden = rows.some(([row]) => !row.hidden);
}

// What is ticked stays ticked while other words are looked for: the words to merge are seldom beside each other.
function count() {
  const ticked = [...document.querySelectorAll("[name=tag]:checked")].map((box) => box.closest("tr").dataset.word);
  chosen.textContent = ticked.length ? `ticked: ${ticked.join(", ")}` : "none ticked";
}

filter?.addEventListener("input", narrow);
filter?.addEventListener("keydown", (event) => {
  if (event.key === "Enter") event.preventDefault(); // nothing is merged by it
});
if (chosen) {
  document.addEventListener("change", (event) => event.target.name === "tag" && count());
  count(); // a browser may remember what was ticked
}
if (filter?.value) narrow();
