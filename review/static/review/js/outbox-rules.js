// The rules of the outbox, with no browser in them: what replaces what, what is sent, what an answer does.
//
// A wish is what somebody wants a select to be: {method, body} as it is sent ("PUT" or "DELETE"; body.version is the
// version it was made from), with a `stamp` of its own and the stamp it was made `over`. What waits for one select is
// its line, oldest first. There is more than one only where two tabs changed a select without knowing of each other:
// the second then goes after the first, the server refuses it, and the person is asked.

const CONTENT = ["in_frame", "out_frame", "tags", "note", "rating"];
const MOST_SENT = 20; // contents remembered of one chain

/** A wish made at `at` (ms), over the wish with the stamp `over` if the page knew of one. */
export function makeWish(stamp, at, method, body, over = null) {
  return { stamp, chain: stamp, over, at, method, body, tried: false, sent: [] };
}

/** What a wish, or a select as the server has it, says: the same words for the same content. */
export function saying({ method, body, ...select }) {
  const said = body ?? select;
  if (method === "DELETE" || said.deleted) return "deleted";
  const tags = said.tags.map((tag) => tag.trim().toLowerCase()).sort();
  return JSON.stringify([said.in_frame, said.out_frame, tags, said.note.replace(/\r\n?/g, "\n").trim(), said.rating]);
}

/** The line with a new wish in it. `over` is the wish it was made over, which may have left the line since. */
export function admit(line, wish, over = null) {
  if (line.some((each) => each.stamp === wish.stamp)) return line;
  const at = line.findIndex((each) => each.stamp === wish.over);
  if (at < 0) return [...line, over ? { ...wish, sent: remembered(over, true) } : wish];
  const replaced = line[at];
  const heir = { ...wish, chain: replaced.chain, sent: remembered(replaced, replaced.tried) };
  return line.with(at, { ...heir, body: { ...heir.body, version: Math.max(heir.body.version, replaced.body.version) } });
}

// What the server may have of a chain although no answer came: so a refusal over it is nobody else's doing.
function remembered(wish, tried) {
  return [...wish.sent, ...(tried ? [saying(wish)] : [])].slice(-MOST_SENT);
}

/** The line when its first wish is about to be sent: from now on the server may have it. */
export function lend(line) {
  return line.map((wish, at) => (at === 0 ? { ...wish, tried: true } : wish));
}

/** The line when the server has taken `sent` and made it `version`. A newer wish of the chain goes on from there. */
export function settle(line, sent, version) {
  return line
    .filter((wish) => wish.stamp !== sent.stamp)
    .map((wish) => (wish.chain === sent.chain ? onVersion(wish, version) : wish));
}

/** The line when `sent` is to be sent again, from the `version` the server has. */
export function rebase(line, sent, version) {
  return line.map((wish) => (wish.chain === sent.chain ? onVersion(wish, version) : wish));
}

function onVersion(wish, version) {
  return { ...wish, body: { ...wish.body, version } };
}

/** The line without the wish of this stamp. */
export function drop(line, stamp) {
  return line.filter((wish) => wish.stamp !== stamp);
}

/**
 * What a failure means for a wish: "away" (the same may succeed later), "ours" (the server has an earlier wish of the
 * same chain whose answer was lost: go on from there), "conflict" (somebody else was faster) or "refused".
 */
export function verdict(problem, wish) {
  if (problem.passing) return "away";
  const current = problem.status === 409 ? problem.body?.current : null;
  if (!current) return "refused";
  return wish.sent.includes(saying(current)) ? "ours" : "conflict";
}

/** Where a select stands: "saved", "refused", "sending" (on its way), "kept" (in this browser) or "keeping" (almost). */
export function standing(line, { refused, flying, keeping }) {
  if (!line?.length) return "saved";
  if (refused) return "refused";
  if (flying) return "sending";
  return keeping ? "keeping" : "kept";
}

/** The content of a wish alone, as a select has it. */
export function contentOf(wish) {
  if (wish.method === "DELETE") return { deleted: true };
  return { ...Object.fromEntries(CONTENT.map((field) => [field, wish.body[field]])), deleted: false };
}
