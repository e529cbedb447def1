// The title of a section, typed where the section will stand.

const LONGEST = 120;

/** A row above `row` (or in place of a heading's words) to type a title in; resolves to it, or to null. */
export function askTitle(row, title = "") {
  const asking = document.createElement("tr");
  asking.className = "section";
  const cell = asking.insertCell();
  cell.colSpan = 8;
  const form = document.createElement("form");
  const label = Object.assign(document.createElement("label"), { textContent: "Section " });
  const field = Object.assign(document.createElement("input"), { value: title, required: true, maxLength: LONGEST });
  label.append(field);
  const save = Object.assign(document.createElement("button"), { textContent: "Set" });
  const leave = Object.assign(document.createElement("button"), { type: "button", textContent: "Cancel" });
  form.append(label, " ", save, " ", leave);
  cell.append(form);
  row.before(asking);
  field.select();
  return new Promise((resolve) => {
    const done = (answer) => (asking.remove(), resolve(answer));
    form.addEventListener("submit", (event) => (event.preventDefault(), done(field.value.trim() || null)));
    leave.addEventListener("click", () => done(null));
    field.addEventListener("keydown", (event) => event.key === "Escape" && done(null));
  });
}
