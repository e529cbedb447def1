// The one table of keys: they are bound from it, and the help is written from it.

export const KEYS = [
  { group: "Playing", keys: ["Space", "K"], intent: "toggle", words: "play, pause" },
  { group: "Playing", keys: ["L"], intent: "forwards", words: "forwards; again for 2, 4, 8 times" },
  { group: "Playing", keys: ["J"], intent: "backwards", words: "backwards; again for 2, 4, 8 times" },
  { group: "Playing", keys: ["→", "←"], intent: "stepFrame", words: "one frame on, back", repeats: true },
  { group: "Playing", keys: ["Shift →", "Shift ←"], intent: "stepSecond", words: "one second on, back", repeats: true },
  { group: "Playing", keys: ["Home", "End"], intent: "toEdge", words: "first frame, last frame" },
  { group: "Playing", keys: ["M"], intent: "mute", words: "sound off, on (muted is skimmed)" },
  { group: "Playing", keys: ["U"], intent: "nextUnwatched", words: "to the next frames nobody has seen" },
  { group: "Marking", keys: ["I"], intent: "markIn", words: "mark in" },
  { group: "Marking", keys: ["O"], intent: "markOut", words: "mark out; with an in, in either order, a select" },
  { group: "Marking", keys: ["Enter"], intent: "catchBack", words: "catch: a select of the last seconds" },
  { group: "Marking", keys: ["Shift Enter"], intent: "closeMark", words: "end the open mark here" },
  { group: "Marking", keys: ["Shift I"], intent: "moveIn", words: "move the select's in to here" },
  { group: "Marking", keys: ["Shift O"], intent: "moveOut", words: "move the select's out to here" },
  { group: "Marking", keys: ["Ctrl ←", "Ctrl →"], intent: "nudgeIn", words: "its in one frame back, on", repeats: true },
  { group: "Marking", keys: ["Ctrl Shift ←", "Ctrl Shift →"], intent: "nudgeOut", words: "its out one frame back, on", repeats: true },
  { group: "Marking", keys: ["Ctrl ↑", "Ctrl ↓"], intent: "shift", words: "all of it one frame earlier, later", repeats: true },
  { group: "Marking", keys: ["Shift S"], intent: "split", words: "split it before the frame on the screen" },
  { group: "Marking", keys: ["Shift J"], intent: "join", words: "join it with those chosen, or the next it touches" },
  { group: "Marking", keys: ["Shift D"], intent: "duplicate", words: "the same select again" },
  { group: "Marking", keys: ["1", "2", "3", "4", "5", "0"], intent: "rate", words: "rate it; 0 takes the rating away" },
  { group: "Marking", keys: ["N"], intent: "note", words: "write a note; Escape comes back" },
  { group: "Marking", keys: ["/"], intent: "tag", words: "type a tag; Enter takes it, Escape comes back" },
  { group: "Marking", keys: ["Shift T"], intent: "pin", words: "pin its tags for the selects to come, unpin" },
  { group: "Marking", keys: ["Delete"], intent: "delete", words: "delete the select" },
  { group: "Marking", keys: ["Ctrl Z"], intent: "undo", words: "undo" },
  { group: "Marking", keys: ["Ctrl Shift Z"], intent: "redo", words: "redo" },
  { group: "Going", keys: [".", ","], intent: "otherSpeech", words: "to the next speech, to the one before" },
  { group: "Going", keys: ["↓", "↑"], intent: "otherSelect", words: "next, previous select" },
  { group: "Going", keys: ["Escape"], intent: "letGo", words: "let go of the select or a mark" },
  { group: "Going", keys: ["?"], intent: "help", words: "these keys" },
];

/** Letters that tags may not have, because they are bound above. */
export const TAKEN = new Set(KEYS.flatMap(({ keys }) => keys).filter((key) => /^[A-Z]$/.test(key)));

const NAMES = { " ": "Space", ArrowRight: "→", ArrowLeft: "←", ArrowUp: "↑", ArrowDown: "↓", Backspace: "Delete" };

/** A key press as the table writes it, such as "Shift →". */
export function nameOf(event) {
  const key = NAMES[event.key] ?? (event.key.length === 1 ? event.key.toUpperCase() : event.key);
  const shift = event.shiftKey && !/^[!-/:-@[-`{-~]$/.test(key) ? "Shift " : ""; // where "/" needs Shift it is "/" still
  return `${event.ctrlKey || event.metaKey ? "Ctrl " : ""}${shift}${key}`;
}

/** Call `act(intent, key)` for every key press of the table, and `tag(letter)` for other letters. */
export function bind(target, act, tag) {
  const table = new Map(KEYS.flatMap((row) => row.keys.map((key) => [key, row])));
  target.addEventListener("keydown", (event) => {
    if (event.altKey || event.isComposing || isTyping(event.target) || document.querySelector("dialog[open]")) return;
    if ([" ", "Enter"].includes(event.key) && event.target.matches("a, button, summary")) return; // it presses them
    const name = nameOf(event);
    const row = table.get(name);
    if (row) {
      event.preventDefault();
      if (!event.repeat || row.repeats) act(row.intent, name);
    } else if (/^[A-Z]$/.test(name) && tag(name.toLowerCase())) {
      event.preventDefault();
    }
  });
}

function isTyping(element) {
  return element.matches("textarea, select, input:not([type=checkbox]):not([type=button])");
}

/** The help, written from the table. */
export function writeHelp(into, tags) {
  const groups = grouped(KEYS);
  into.replaceChildren(
    ...[...groups].map(([group, rows]) => table(group, rows.map((row) => [row.keys, row.words]))),
    table("Tags", tags.filter((tag) => tag.key).map((tag) => [[tag.key.toUpperCase()], tag.name])),
  );
}

function grouped(rows) {
  const groups = new Map();
  for (const row of rows) groups.set(row.group, [...(groups.get(row.group) ?? []), row]);
  return groups;
}

function table(caption, rows) {
  const made = document.createElement("table");
  made.createCaption().textContent = caption;
  for (const [keys, words] of rows) {
    const row = made.insertRow();
    const cell = row.insertCell();
    keys.forEach((key, at) => {
      const cap = document.createElement("kbd");
      cap.textContent = key;
      cell.append(at ? " " : "", cap);
    });
    row.insertCell().textContent = words;
  }
  return made;
}
