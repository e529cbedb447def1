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
 * It speaks up with "keeping" (the new {people, rights}, or null) once the server has it, and with "unkept" when it could
 * not be had. What is typed and not kept yet waits behind a button that has `data-keep`.
 */
export function keepingControl(select, kept = null) {
  const box = document.createElement("div");
  box.className = "keep";
  box.append(form(box, select, kept));
  return box;
}

function form(box, select, kept) {
  const said = kept ?? { people: "unknown", rights: "" };
  const people = made("select", { name: "" });
  for (const [value, words] of PEOPLE) people.add(new Option(words, value, false, value === said.people));
  const rights = made("textarea", { rows: 2, maxLength: LONGEST_RIGHTS, value: said.rights, placeholder: "whose, what was agreed, until when" });
  const words = kept ? "Keep what is said" : "Flag as worth keeping";
  const keep = made("button", { type: "button", className: kept ? "small" : "small main", textContent: words, disabled: kept !== null });
  const drop = made("button", { type: "button", className: "small", textContent: "Not worth keeping" });
  const changed = () => {
    const same = people.value === said.people && rights.value === said.rights;
    keep.disabled = kept !== null && same;
    keep.toggleAttribute("data-keep", !same);
  };
  people.addEventListener("change", changed);
  rights.addEventListener("input", changed);
  keep.addEventListener("click", () => send(box, select, { people: people.value, rights: rights.value }));
  drop.addEventListener("click", () => send(box, select, null));
  const doing = made("span", { className: "keep-doing" });
  doing.append(keep, ...(kept ? [drop] : []));
  const whole = made("div", { className: "keep-form" });
  whole.append(labelled("People", people), labelled("Rights", rights), doing);
  return whole;
}

async function send(box, select, kept) {
  const url = `/api/v1/selects/${select}/keeping/`;
  try {
    const answer = await (kept ? call("PUT", url, kept) : call("DELETE", url));
    const now = kept ? { people: answer.people, rights: answer.rights } : null;
    box.replaceChildren(form(box, select, now));
    say(box, kept ? "Kept" : "Not flagged any more");
    box.querySelector("select").focus();
    box.dispatchEvent(new CustomEvent("keeping", { detail: now, bubbles: true }));
  } catch (problem) {
    say(box, problem.message, "alarm");
    box.dispatchEvent(new CustomEvent("unkept", { bubbles: true }));
  }
}

function say(box, words, look = "faint") {
  box.querySelector("[role=status]")?.remove();
  const said = made("span", { className: look, textContent: words });
  said.setAttribute("role", "status");
  box.querySelector(".keep-doing").append(" ", said);
}

function labelled(words, field) {
  const label = document.createElement("label");
  label.append(words, field);
  return label;
}

function made(kind, facts) {
  return Object.assign(document.createElement(kind), facts);
}
