// The production's tags: their order on the board, and which of them somebody means who types. No page in it.

const GROUPS = ["people", "story", "place", "kind"]; // the others follow by name, and what has no group comes last

const compare = new Intl.Collator("en", { numeric: true }).compare;

/** A word as it is compared: without case and accents. */
export function folded(text) {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().trim();
}

/** Whether two words are one tag, which only case can tell apart. */
export function same(one, other) {
  return one.toLowerCase() === other.toLowerCase();
}

/**
 * Tags {name, group, key} as [group, tags] in the order of the board. Within a group those with a key come first, then
 * all by name: the same today and tomorrow, so that the hand finds them.
 */
export function onBoard(tags) {
  const groups = new Map();
  for (const tag of tags) {
    const group = tag.group.toLowerCase();
    groups.set(group, [...(groups.get(group) ?? []), tag]);
  }
  const rank = (group) => (group === "" ? GROUPS.length + 1 : GROUPS.includes(group) ? GROUPS.indexOf(group) : GROUPS.length);
  return [...groups]
    .sort(([one], [other]) => rank(one) - rank(other) || compare(one, other))
    .map(([group, some]) => [group || "other", some.sort((a, b) => !a.key - !b.key || compare(a.name, b.name))]);
}

/** The tags that somebody may mean, the likeliest first: the word itself, its beginning, a word in it, any part. */
export function matching(tags, text) {
  const sought = folded(text);
  const ranked = onBoard(tags)
    .flatMap(([, some]) => some)
    .map((tag) => [nearness(folded(tag.name), sought), tag]);
  return ranked
    .filter(([near]) => near < 4)
    .sort((a, b) => a[0] - b[0])
    .map(([, tag]) => tag);
}

function nearness(name, sought) {
  if (name === sought) return 0;
  if (name.startsWith(sought)) return 1;
  if (name.includes(` ${sought}`)) return 2;
  return name.includes(sought) ? 3 : 4;
}

/** What was typed, as a name for a new tag. A comma stands between tags wherever they are listed, so none is in one. */
export function tidy(text) {
  return text.replaceAll(",", " ").replace(/\s+/g, " ").trim();
}
