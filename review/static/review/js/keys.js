// The one table of keys: they are bound from it, and the help is written from it. An intent says all that is to be
// done, its direction too, so that it can be put on any key.

const playing = (keys, intent, words, more) => ({ group: "Playing", keys, intent, words, ...more });
const going = (keys, intent, words, more) => ({ group: "Going", keys, intent, words, ...more });
const marking = (keys, intent, words, more) => ({ group: "Marking", keys, intent, words, ...more });
const REPEATS = { repeats: true }; // as long as the key is held

export const KEYS = [
  playing(["Space", "K"], "toggle", "play, pause"),
  playing(["L"], "forwards", "forwards at your pace; again for 2, 4, 8 times"),
  playing(["J"], "backwards", "backwards; again for 2, 4, 8 times"),
  playing(["Shift ↑"], "faster", "a faster pace, up to twice"),
  playing(["Shift ↓"], "slower", "a slower pace"),
  playing(["→"], "frameOn", "one frame on", REPEATS),
  playing(["←"], "frameBack", "one frame back", REPEATS),
  playing(["Shift →"], "secondOn", "one second on", REPEATS),
  playing(["Shift ←"], "secondBack", "one second back", REPEATS),
  playing(["Home"], "toFirst", "first frame"),
  playing(["End"], "toLast", "last frame"),
  playing(["Shift L"], "loop", "go round the chosen select; again to stop"),
  playing(["M"], "mute", "sound off, on (muted is skimmed)"),
  going([":"], "typeTimecode", "type a timecode; Enter goes there"),
  going(["U"], "nextUnwatched", "to the next frames nobody has seen; in their midst, to their start"),
  going(["."], "nextSpeech", "to the next speech"),
  going([","], "speechBefore", "to the speech before"),
  going(["↓"], "nextSelect", "next select"),
  going(["↑"], "selectBefore", "select before"),
  going(["PageDown"], "nextAngle", "the same moment on the next camera"),
  going(["PageUp"], "angleBefore", "the same moment on the camera before"),
  going(["-"], "longerLines", "more time on a line of the sheet"),
  going(["="], "shorterLines", "less time on a line of the sheet"),
  going(["Shift R"], "remark", "a remark for whoever comes next"),
  going(["Escape"], "letGo", "let go of the select or a mark"),
  going(["?"], "help", "these keys"),
  marking(["I"], "markIn", "mark in"),
  marking(["O"], "markOut", "mark out; with an in, in either order, a select"),
  marking(["Enter"], "catchBack", "catch: a select of the last seconds"),
  marking(["Shift Enter"], "closeMark", "end the open mark here"),
  marking(["Shift I"], "moveIn", "move the select's in to here"),
  marking(["Shift O"], "moveOut", "move the select's out to here"),
  marking(["Ctrl ←"], "inBack", "its in one frame back", REPEATS),
  marking(["Ctrl →"], "inOn", "its in one frame on", REPEATS),
  marking(["Ctrl Shift ←"], "outBack", "its out one frame back", REPEATS),
  marking(["Ctrl Shift →"], "outOn", "its out one frame on", REPEATS),
  marking(["Ctrl ↑"], "earlier", "all of it one frame earlier", REPEATS),
  marking(["Ctrl ↓"], "later", "all of it one frame later", REPEATS),
  marking(["Shift S"], "split", "split it before the frame on the screen"),
  marking(["Shift J"], "join", "join it with those chosen, or the next it touches"),
  marking(["Shift D"], "duplicate", "the same select again"),
  marking(["Shift C"], "carry", "carry it to the other angles"),
  ...["1", "2", "3", "4", "5"].map((key) => marking([key], `rate:${key}`, `rate it ${key}`)),
  marking(["0"], "rate:0", "take the rating away"),
  marking(["N"], "note", "write a note; Escape comes back"),
  marking(["/"], "tag", "type a tag; Enter takes it, Escape comes back"),
  marking(["Shift T"], "pin", "pin its tags for the selects to come, unpin"),
  marking(["Shift K"], "keeping", "flag it as worth keeping, with the rights"),
  marking(["Delete"], "delete", "delete the select"),
  marking(["Ctrl Z"], "undo", "undo"),
  marking(["Ctrl Shift Z"], "redo", "redo"),
];

/** Letters that tags may not have, because rows of the table have them. */
export function lettersOf(rows) {
  return new Set(rows.flatMap(({ keys }) => keys).filter((key) => /^[A-Z]$/.test(key)));
}

const NAMES = { " ": "Space", ArrowRight: "→", ArrowLeft: "←", ArrowUp: "↑", ArrowDown: "↓", Backspace: "Delete" };

/** A key press as the table writes it, such as "Shift →". */
export function nameOf(event) {
  const key = NAMES[event.key] ?? (event.key.length === 1 ? event.key.toUpperCase() : event.key);
  const shift = event.shiftKey && !/^[!-/:-@[-`{-~]$/.test(key) ? "Shift " : ""; // where "/" needs Shift it is "/" still
  return `${event.ctrlKey || event.metaKey ? "Ctrl " : ""}${shift}${key}`;
}

/** Call `act(intent)` for every key press that `rowOf(key)` has a row for, and `tag(letter)` for other letters. */
export function bind(target, rowOf, act, tag) {
  target.addEventListener("keydown", (event) => {
    if (event.altKey || event.isComposing || isTyping(event) || document.querySelector("dialog[open]")) return;
    if ([" ", "Enter"].includes(event.key) && event.target.matches("a, button, summary")) return; // it presses them
    const name = nameOf(event);
    const row = rowOf(name);
    if (row) {
      event.preventDefault();
      if (!event.repeat || row.repeats) act(row.intent);
    } else if (/^[A-Z]$/.test(name) && tag(name.toLowerCase())) {
      event.preventDefault();
    }
  });
}

const MOVES_SLIDERS = /^(Arrow|Page|Home|End)/;

function isTyping({ target, key }) {
  if (target.matches("input[type=range]")) return MOVES_SLIDERS.test(key);
  return target.matches("textarea, select, input:not([type=checkbox]):not([type=button])");
}
