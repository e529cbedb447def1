// A word across two pages: why this clip was opened, where the key that looks for unwatched frames left the one before.

const KEPT = "rushlight-came-from";

/**
 * The clip is left for the next that has something to watch. `why` is "own" for what the person holds elsewhere, the
 * names of those who hold what is unwatched here, or "" when nothing is.
 */
export function leaveFor(address, { clip, card, name }, why = "") {
  try {
    sessionStorage.setItem(KEPT, JSON.stringify({ clip, called: `${card} ${name}`, why }));
  } catch {
    // this browser keeps nothing: the next page then does not say where one came from
  }
  location.href = address;
}

/** The word for this page, "" where there is nothing to say. It is said once. */
export function arrival({ clip, card, name }) {
  try {
    const from = JSON.parse(sessionStorage.getItem(KEPT));
    sessionStorage.removeItem(KEPT);
    if (!from) return "";
    if (from.clip === clip) return `${name} has the only frames left for you: others hold what else is unwatched, or it is seen.`;
    const here = `${card} ${name}`;
    if (from.why === "own") return `The next of what you hold is here: ${here}.`;
    if (from.why) return `What is unwatched after that in ${from.called} is held by ${from.why}. The next is here: ${here}.`;
    return `Nothing unwatched was left after that in ${from.called}. The next is here: ${here}.`;
  } catch {
    return "";
  }
}
