// Buttons that do what keys do: `data-do` names the intent. What they say of their key is read from the table.

/** Bind every button under `root` to its intent. */
export function bindButtons(root, act, keys) {
  for (const button of root.querySelectorAll("[data-do]")) {
    button.addEventListener("click", () => act(button.dataset.do));
  }
  // After the mouse the focus is the page's, so that Space plays and does not press the button again: before the button
  // does anything, or a dialog that it opens would give it the focus back.
  const giveBack = ({ detail, target }) => {
    if (detail && !target.closest("dialog")) target.closest("button, summary")?.blur();
  };
  root.addEventListener("click", giveBack, true);
  keys.addEventListener("change", () => showKeys(root, keys));
}

/** Write each intent's key on what does it: as a key cap (`data-key-of`), or into the title of its button. */
export function showKeys(root, keys) {
  for (const cap of root.querySelectorAll("[data-key-of]")) cap.textContent = keys.keyOf(cap.dataset.keyOf);
  for (const button of root.querySelectorAll("[data-do][title]")) {
    button.dataset.words ??= button.title;
    const key = keys.keyOf(button.dataset.do);
    button.title = key ? `${button.dataset.words} (${key})` : button.dataset.words;
  }
}
