// Exporting a list: what the format will not carry is told while one chooses, and what is refused is told on the page,
// where what was chosen stays as it is.

import { call, file } from "./api.js";

const WORDS = { stop: "Cannot be made", lost: "Not carried", told: "To know" };
const FREE = 60_000; // ms after which the browser has surely saved it

/** Fetch the export at `address` and have the browser save it. Throws ApiError where it is refused. */
export async function save(address) {
  const { name, blob } = await file(address);
  const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), FREE);
}

/** The form; `exported` is called when an export went out. Returns what looks again at what is not carried. */
export function chooseExport(form, exported) {
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

  // Ask the server, and tell what it refuses at the field that it is about. Resolves to the answer, if it is the last.
  async function ask(doing, question) {
    fit();
    const turn = ++asked;
    checking.textContent = doing;
    for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
    try {
      const answer = await question();
      return turn === asked ? answer : undefined;
    } catch (problem) {
      if (turn !== asked) return undefined;
      checking.textContent = "";
      remarks.replaceChildren(line({ weight: "stop", words: problem.message, places: [], count: 0 }));
      for (const name of Object.keys(problem.body ?? {})) form.elements[name]?.setAttribute?.("aria-invalid", "true");
      return undefined;
    }
  }

  async function check() {
    const found = await ask("Looking…", () => call("GET", `${form.dataset.preflight}?${query()}`));
    if (!found) return;
    checking.textContent = found.length ? "" : "All of the list is carried.";
    remarks.replaceChildren(...found.map(line));
  }

  async function submit(event) {
    event.preventDefault();
    const done = await ask("Exporting…", () => save(`${form.action}?${query()}`).then(() => true));
    if (!done) return form.querySelector("[aria-invalid]")?.focus();
    exported();
    await check();
    checking.textContent = "Exported, and kept under What was exported.";
  }

  form.addEventListener("change", check);
  form.addEventListener("submit", submit);
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
