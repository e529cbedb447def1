// A person's own keys: what the table of keys becomes, and the rules for changing it.

/** The rows of `table` with a person's own keys in place of the usual ones. */
export function withOwn(table, own = {}) {
  const taken = new Set(Object.values(own).flat());
  return table.map((row) => {
    const usual = row.keys.filter((key) => !taken.has(key)); // somebody else's now
    return { ...row, keys: own[row.intent] ?? usual };
  });
}

/**
 * What `own` becomes when `intent` gets `key` beside or (with `only`) instead of its keys.
 * Gives {own} or {refused}: words for people, where the key does something else already.
 */
export function give(table, own, intent, key) {
  const rows = withOwn(table, own);
  const other = rows.find((row) => row.keys.includes(key) && row.intent !== intent);
  if (other) return { refused: `${key} is ${other.words}; give that another key first.` };
  const fixed = table.find((row) => row.intent === intent)?.keys.length ?? 1;
  if (fixed > 1 && !own[intent]) return { own: { ...own, [intent]: [key, ...rows.find((row) => row.intent === intent).keys.slice(1)] } };
  return { own: { ...own, [intent]: [key] } };
}

/** `own` without the changes of an intent. */
export function giveBack(own, intent) {
  return Object.fromEntries(Object.entries(own).filter(([name]) => name !== intent));
}
