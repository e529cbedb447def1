// Choosing selects and adding them to a list.

import { call } from "./api.js";

const choose = document.getElementById("choose");
const boxes = [...(choose?.querySelectorAll("[name=select]") ?? [])];
const target = document.getElementById("target");

function chosen() {
  return boxes.filter((box) => box.checked).map((box) => box.value);
}

function show() {
  const many = chosen().length;
  document.getElementById("how-many").textContent = many ? `${many} chosen` : "none chosen";
  choose.querySelector("button.main").disabled = !many;
  document.getElementById("all").checked = many === boxes.length;
  document.getElementById("new-name-label").hidden = target.value !== "";
}

async function add(event) {
  event.preventDefault();
  const said = document.getElementById("added");
  const selects = chosen();
  try {
    const lists = choose.dataset.lists;
    const made = target.value
      ? await call("POST", `${lists}${target.value}/add/`, { selects })
      : await call("POST", lists, { name: document.getElementById("new-name").value, production: choose.dataset.production, selects });
    said.className = "";
    said.replaceChildren("Added to ", Object.assign(document.createElement("a"), { href: `/lists/${made.id}/`, textContent: made.name }));
    if (!target.value) {
      target.add(new Option(made.name, made.id), 0);
      target.value = made.id;
    }
    for (const box of boxes) box.checked = false;
    show();
  } catch (problem) {
    said.className = "alarm";
    said.textContent = problem.message;
  }
}

if (target) {
  choose.addEventListener("change", show);
  choose.addEventListener("submit", add);
  document.getElementById("all").addEventListener("change", (event) => {
    for (const box of boxes) box.checked = event.target.checked;
    show();
  });
  show();
}
