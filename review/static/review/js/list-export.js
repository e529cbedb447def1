// Choosing how to export: what the format will not carry is told while one chooses.

import { call } from "./api.js";

const WORDS = { stop: "Cannot be", lost: "Not in it", told: "To know" };

export function chooseExport(form) {
  const remarks = document.getElementById("remarks");
  const checking = document.getElementById("checking");
  let asked = 0;

  const query = () => {
    const chosen = new URLSearchParams(new FormData(form));
    for (const [name, value] of [...chosen]) if (!value) chosen.delete(name);
    return chosen;
  };

  function fit() {
    const kind = form.elements.as.value;
    for (const part of form.querySelectorAll("[data-of]")) {
      part.hidden = part.dataset.of !== kind;
      for (const field of part.querySelectorAll("input, select")) field.disabled = part.hidden;
    }
    const columns = [...form.querySelectorAll(".columns [type=checkbox]")].filter((box) => box.checked);
    form.querySelector("[type=hidden][name=columns]").value = columns.map((box) => box.value).join(",");
  }

  async function check() {
    fit();
    const turn = ++asked;
    checking.textContent = "Looking…";
    let found;
    try {
      found = await call("GET", `${form.dataset.preflight}?${query()}`);
    } catch (problem) {
      found = [{ weight: "stop", words: problem.message, places: [], count: 0 }];
    }
    if (turn !== asked) return;
    checking.textContent = found.length ? "" : "All of the list is carried.";
    remarks.replaceChildren(...found.map(line));
  }

  form.addEventListener("change", check);
  form.addEventListener("submit", fit);
  form.closest("details").addEventListener("toggle", (event) => event.target.open && check());
  return check;
}

function line({ weight, words, places, count }) {
  const item = Object.assign(document.createElement("li"), { className: weight });
  const kind = Object.assign(document.createElement("span"), { className: "kind", textContent: WORDS[weight] });
  const said = Object.assign(document.createElement("p"), { textContent: words });
  if (places.length) {
    const where = `${places.join(", ")}${count > places.length ? " …" : ""}`;
    said.append(Object.assign(document.createElement("span"), { className: "faint", textContent: ` ${count > 1 ? "Places" : "Place"} ${where}.` }));
  }
  item.append(kind, said);
  return item;
}
