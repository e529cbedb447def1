// Rows that are dragged to another place.

/** Calls `dropped` with a row when it was let go somewhere else. */
export function dragRows(list, dropped) {
  let dragged = null;
  const clear = () => list.querySelectorAll(".drop-here").forEach((row) => row.classList.remove("drop-here"));
  list.addEventListener("dragstart", (event) => {
    dragged = event.target.closest("tr[data-select]");
    dragged?.classList.add("dragged");
  });
  list.addEventListener("dragover", (event) => {
    const row = event.target.closest("tbody tr");
    if (!dragged || !row) return;
    event.preventDefault();
    clear();
    if (row !== dragged) row.classList.add("drop-here");
  });
  list.addEventListener("drop", (event) => {
    const row = event.target.closest("tbody tr");
    if (!dragged || !row || row === dragged) return;
    event.preventDefault();
    const down = row.compareDocumentPosition(dragged) & Node.DOCUMENT_POSITION_PRECEDING;
    if (down || !row.dataset.select) row.after(dragged); // after a heading is in its section
    else row.before(dragged);
    dropped(dragged);
  });
  list.addEventListener("dragend", () => {
    dragged?.classList.remove("dragged");
    clear();
    dragged = null;
  });
}
