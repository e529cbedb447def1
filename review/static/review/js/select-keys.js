// The keys of the selects page: those of the watching page that make sense here, as the person has them, and its own.

const OWN = [
  { group: "Playing", keys: ["Shift Space"], intent: "playAll", words: "play them all, one after the other; again to stop" },
  { group: "Finding", keys: ["/"], intent: "find", words: "to the search box" },
  { group: "Finding", keys: ["Shift Enter"], intent: "openClip", words: "open the clip at this frame" },
  { group: "Pulling", keys: ["Enter"], intent: "addToList", words: "add it to the chosen list" },
];

/** Write the keys of these intents into `box`; returns what finds the row of a key. */
export function showKeysHere(box, table, tags, intents) {
  const known = new Set(intents);
  const rows = () => {
    const taken = new Set(OWN.flatMap(({ keys }) => keys));
    const shared = table.rows.filter(({ intent }) => known.has(intent.split(":")[0]));
    return [...OWN, ...shared.map((row) => ({ ...row, keys: row.keys.filter((key) => !taken.has(key)) }))];
  };
  const write = () => {
    const rates = rows().filter(({ intent, keys }) => /^rate:[1-5]$/.test(intent) && keys.length);
    const others = rows().filter(({ intent, keys }) => !/^rate:[1-5]$/.test(intent) && keys.length);
    const keyed = tags.filter(({ key }) => key && !table.letters.has(key.toUpperCase()));
    const lines = [
      ...others.map(({ keys, words }) => [keys, words]),
      [rates.flatMap(({ keys }) => keys), "rate it; the same again takes it away"],
      ...keyed.map(({ key, name }) => [[key.toUpperCase()], name]),
    ];
    const made = document.createElement("table");
    for (const [keys, words] of lines) {
      const line = made.insertRow();
      line.insertCell().append(...keys.flatMap((key) => [Object.assign(document.createElement("kbd"), { textContent: key }), " "]));
      line.insertCell().textContent = words;
    }
    box.replaceChildren(made);
  };
  table.addEventListener("change", write);
  write();
  return (key) => rows().find(({ keys }) => keys.includes(key));
}
