// The flag "worth keeping" of one select: whether people can be recognised, and the rights.

import { call } from "./api.js";

const PEOPLE = [
  ["unknown", "not looked at"],
  ["none", "nobody recognisable"],
  ["recognisable", "somebody recognisable"],
];
const LONGEST_RIGHTS = 2000;

/**
 * A control for the flag of the select with this id. `kept` is {people, rights}, or null where it is not flagged.
 * It speaks up with "keeping" (the new {people, rights}, or null) once the server has it.
 */
export function keepingControl(select, kept = null) {
  const box = document.createElement("div");
  box.className = "keep";
  show(box, select, kept);
  return box;
}

function show(box, select, kept) {
  box.replaceChildren(kept ? form(box, select, kept) : flagButton(box, select));
}

function flagButton(box, select) {
  const button = made("button", { type: "button", className: "small", textContent: "Worth keeping" });
  button.title = "Flag for a stock library, with rights and people";
  button.addEventListener("click", () => send(box, select, { people: "unknown", rights: "" }));
  return button;
}

function form(box, select, kept) {
  const people = made("select", { name: "" });
  for (const [value, words] of PEOPLE) people.add(new Option(words, value, false, value === kept.people));
  const rights = made("textarea", { rows: 2, maxLength: LONGEST_RIGHTS, value: kept.rights, placeholder: "whose, what was agreed, until when" });
  const keep = made("button", { type: "button", className: "small", textContent: "Keep what is said", disabled: true });
  const drop = made("button", { type: "button", className: "small", textContent: "Not worth keeping" });
  const changed = () => {
    keep.disabled = people.value === kept.people && rights.value === kept.rights;
  };
  people.addEventListener("change", changed);
  rights.addEventListener("input", changed);
  keep.addEventListener("click", () => send(box, select, { people: people.value, rights: rights.value }));
  drop.addEventListener("click", () => send(box, select, null));
  const doing = made("span", { className: "keep-doing" });
  doing.append(keep, drop);
  const whole = made("div", { className: "keep-form" });
  whole.append(labelled("People", people), labelled("Rights", rights), doing);
  return whole;
}

async function send(box, select, kept) {
  const url = `/api/v1/selects/${select}/keeping/`;
  try {
    const answer = await (kept ? call("PUT", url, kept) : call("DELETE", url));
    const now = kept ? { people: answer.people, rights: answer.rights } : null;
    show(box, select, now);
    say(box, "Kept", kept !== null);
    box.querySelector("button:not([disabled])")?.focus();
    box.dispatchEvent(new CustomEvent("keeping", { detail: now, bubbles: true }));
  } catch (problem) {
    say(box, problem.message, true, "alarm");
  }
}

function say(box, words, shown, look = "faint") {
  box.querySelector("[role=status]")?.remove();
  if (!shown) return;
  const said = made("span", { className: look, textContent: words });
  said.setAttribute("role", "status");
  (box.querySelector(".keep-doing") ?? box).append(" ", said);
}

function labelled(words, field) {
  const label = document.createElement("label");
  label.append(words, field);
  return label;
}

function made(kind, facts) {
  return Object.assign(document.createElement(kind), facts);
}
