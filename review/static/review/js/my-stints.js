// A logger's first page: one key leads to the next frames to watch, by the same table of keys as on the watching page.

import { KeyTable } from "./key-table.js";
import { bind } from "./keys.js";

const facts = JSON.parse(document.getElementById("facts").textContent);
const table = new KeyTable(facts.keys);
const key = table.keyOf("nextUnwatched");

const shown = document.getElementById("next-key");
shown.textContent = key;
shown.hidden = !key;
shown.dataset.mine = ""; // live-morph.js leaves it alone

const rowOf = (name) => table.rows.find((row) => row.intent === "nextUnwatched" && row.keys.includes(name));
bind(document, rowOf, () => location.assign(facts.next), () => false);
