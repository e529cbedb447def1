// A word across two pages: why this clip was opened, where the key that looks for unwatched frames left the one before.

const KEPT = "rushlight-came-from";

/**
 * The clip is left for the next that has something to watch. `holders` are the names of those who hold what is unwatched
 * ahead in it, "" when nobody does.
 */
export function leaveFor(address, { clip, card, name }, holders) {
  try {
    sessionStorage.setItem(KEPT, JSON.stringify({ clip, called: `${card} ${name}`, holders }));
  } catch {
    // this browser keeps nothing: the next page then does not say where one came from
  }
  location.href = address;
}

/** The word for this page, which was opened at `frame`; "" where there is nothing to say. It is said once. */
export function arrival({ clip, card, name, stints, person, frame }) {
  try {
    const from = JSON.parse(sessionStorage.getItem(KEPT));
    sessionStorage.removeItem(KEPT);
    if (!from) return "";
    const own = stints.some((each) => each.logger === person && each.in_frame <= frame && frame < each.out_frame);
    if (from.clip === clip) return own ? "It goes on here, with what you hold." : "It goes on here, with what nobody holds.";
    const here = `${card} ${name}`;
    if (own) return `The next of what you hold is here: ${here}.`;
    if (from.holders) return `What is unwatched after that in ${from.called} is held by ${from.holders}. The next is here: ${here}.`;
    return `No other unwatched stretch begins after that in ${from.called}. The next is here: ${here}.`;
  } catch {
    return "";
  }
}
