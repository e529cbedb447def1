// Marks that an earlier page could not send go from whatever page comes next, and are counted until then; what was
// watched goes too, without a word.

import { Outbox } from "./outbox.js";
import { sendSelect } from "./select-calls.js";
import { Store } from "./store.js";
import { sendWatchedLeft } from "./watch-left.js";

const person = document.body.dataset.person;
const facts = document.getElementById("facts"); // the clip that is being watched sends its own
const here = facts ? String(JSON.parse(facts.textContent).clip) : null;
const note = document.getElementById("unsent");
const outboxes = new Map(); // clip -> outbox

function show() {
  const all = [...outboxes];
  const waiting = all.reduce((sum, [, outbox]) => sum + outbox.waiting, 0);
  const [stuck] = all.find(([, outbox]) => outbox.refused) ?? [];
  note.hidden = !waiting;
  note.textContent = `${waiting} mark${waiting === 1 ? "" : "s"} of other clips not sent yet`;
  if (!stuck) return;
  note.append(": ", Object.assign(document.createElement("a"), { href: `/clips/${stuck}/`, textContent: "look at them" }));
}

async function sendAll() {
  const store = await Store.open();
  for (const clip of await store.clips(person)) {
    if (clip === here) continue;
    const outbox = await Outbox.open(person, clip, sendSelect, store);
    outboxes.set(clip, outbox);
    outbox.addEventListener("change", show);
    outbox.send();
  }
  if (outboxes.size) show();
}

if (person) Promise.all([sendAll(), sendWatchedLeft(person)]);
