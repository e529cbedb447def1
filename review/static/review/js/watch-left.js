// Batches of what was watched that no server has yet: kept in this browser, and sent by whatever page comes next.
//
// A viewing's batches are numbered and counted once each, so a batch that was sent after all does no harm.

import { call } from "./api.js";

const KEPT = "rushlight-watched:";
const MOST = 300_000; // letters: a browser has room for millions, and marks come first

/** Keep (or, with none, forget) the batches {number, spans} of a viewing. */
export function keepWatched({ person, viewing, api }, batches) {
  const name = `${KEPT}${person}:${viewing}`;
  const text = JSON.stringify({ url: api.watched, viewing, batches });
  try {
    if (batches.length && text.length < MOST) localStorage.setItem(name, text);
    else if (!batches.length) localStorage.removeItem(name);
  } catch {
    // this browser keeps nothing; the page does
  }
}

/** Send what earlier pages of this person have left. */
export async function sendWatchedLeft(person) {
  for (const name of namesOf(`${KEPT}${person}:`)) {
    const text = localStorage.getItem(name);
    try {
      const { url, viewing, batches } = JSON.parse(text);
      for (const { number, spans } of batches) await call("POST", url, { viewing, batch: number, spans });
    } catch (problem) {
      if (problem.passing) return; // the server is away: the next page tries again
    }
    if (localStorage.getItem(name) === text) localStorage.removeItem(name);
  }
}

function namesOf(beginning) {
  try {
    return Object.keys(localStorage).filter((name) => name.startsWith(beginning));
  } catch {
    return []; // this browser keeps nothing
  }
}
