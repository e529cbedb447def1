// What two answers of the server's news differ in, by the names that pages go by.

/** The kinds that a page may show: what happened is told by what it was about. */
const NAMES = {
  card: "cards", clip: "clips", select: "selects", list: "lists", stint: "stints", note: "notes", people: "people",
  production: "rules",
};
export const ALL = [...Object.values(NAMES), "watching", "jobs"];

/** The names of what is new in answer `now` since answer `before` (a Set; empty if nothing is). */
export function changed(before, now) {
  const names = new Set();
  for (const part of ["watching", "jobs"]) if (before[part] !== now[part]) names.add(part);
  const known = new Set(before.happened.map(([id]) => id));
  const fresh = now.happened.filter(([id]) => !known.has(id) && id > oldest(before));
  for (const [, about] of fresh) names.add(NAMES[about]);
  // More than an answer holds: nobody knows what was between.
  if (before.happened.length && fresh.length === now.happened.length && fresh.length) for (const name of ALL) names.add(name);
  return names;
}

// Rows come in by the newest end only; what is older than all that was known then has only moved up from behind.
function oldest({ happened }) {
  return happened.length ? happened.at(-1)[0] : -1;
}
