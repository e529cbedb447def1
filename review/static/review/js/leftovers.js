// Marks that an earlier page could not send go from whatever page comes next, and are counted until then.

import { clipsWithMarks, Outbox } from "./outbox.js";
import { sendSelect } from "./select-calls.js";

const person = document.body.dataset.person;
const facts = document.getElementById("facts"); // the clip that is being watched sends its own
const here = facts ? String(JSON.parse(facts.textContent).clip) : null;
const note = document.getElementById("unsent");
const outboxes = [];

function show() {
  const waiting = outboxes.reduce((sum, outbox) => sum + outbox.waiting, 0);
  note.hidden = !waiting;
  note.textContent = `${waiting} mark${waiting === 1 ? "" : "s"} of other clips not sent yet`;
}

for (const clip of person ? clipsWithMarks(person) : []) {
  if (clip === here) continue;
  const outbox = new Outbox(person, clip, sendSelect);
  outboxes.push(outbox);
  outbox.addEventListener("change", show);
  outbox.send();
}
if (outboxes.length) show();
