// A person's own keys: what the table of keys becomes, and the rules for changing it.

// What the server keeps (review/crew/habits.py), but for Tab and Escape, which every person needs as they are.
const KEY = /^(Ctrl )?(Shift )?([!-~]|Space|Delete|Enter|Home|End|PageUp|PageDown|F\d{1,2}|[←-↓])$/;

/** The rows of `table` with a person's own keys in place of the usual ones. */
export function withOwn(table, own = {}) {
  const taken = new Set(Object.values(own).flat());
  return table.map((row) => {
    const usual = row.keys.filter((key) => !taken.has(key)); // another row's now
    return { ...row, keys: own[row.intent] ?? usual };
  });
}

/**
 * What `own` becomes when `intent` gets `key` in place of the first of its keys.
 * Gives {own} or {refused}: words for people, where the key does something else already.
 */
export function give(table, own, intent, key) {
  if (!KEY.test(key)) return { refused: `${key} cannot be chosen here: take a letter, a sign, an arrow or an F key.` };
  const rows = withOwn(table, own);
  const other = rows.find((row) => row.keys.includes(key) && row.intent !== intent);
  if (other) return { refused: `${key} is “${other.words}”: give that another key first.` };
  const now = rows.find((row) => row.intent === intent).keys;
  return { own: { ...own, [intent]: [key, ...now.slice(1).filter((each) => each !== key)] } };
}

/** What `own` becomes when an intent has its usual keys again: {own}, or {refused} where another has taken them. */
export function giveBack(table, own, intent) {
  const rest = Object.fromEntries(Object.entries(own).filter(([name]) => name !== intent));
  const usual = table.find((row) => row.intent === intent).keys;
  const [taken] = Object.entries(rest).find(([, keys]) => keys.some((key) => usual.includes(key))) ?? [];
  if (!taken) return { own: rest };
  const { words } = table.find((row) => row.intent === taken) ?? { words: taken };
  return { refused: `${usual.join(", ")} is “${words}” now: give that its usual key first.` };
}
