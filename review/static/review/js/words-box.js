// The box that words are typed into: there at once where nothing is asked yet, and easily left for what was found.

/** Bind it; `down()` goes to the first that was found. */
export function bindWordsBox(box, down) {
  box.addEventListener("keydown", (event) => {
    if (event.isComposing || !["Escape", "ArrowDown"].includes(event.key)) return;
    event.preventDefault(); // a browser would empty it
    box.blur();
    if (event.key === "ArrowDown") down();
  });
}

/** Go to it, with all that is in it chosen: what is typed takes its place. */
export function goToWords(box) {
  box.focus();
  box.select();
}
