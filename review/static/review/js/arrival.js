// A word across two pages: why this clip was opened, where the key that looks for unwatched frames left the one before.

const KEPT = "rushlight-came-from";

/** The clip is left for the next that has something unwatched. */
export function leaveFor(address, { clip, card, name }) {
  try {
    sessionStorage.setItem(KEPT, JSON.stringify({ clip, called: `${card} ${name}` }));
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
    if (from.clip === clip) return `${name} has the only frames left that nobody has seen.`;
    return `Nothing unwatched was left after that in ${from.called}. The next is here: ${card} ${name}.`;
  } catch {
    return "";
  }
}
