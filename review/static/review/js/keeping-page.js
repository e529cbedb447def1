// The page of what is worth keeping: each row's people and rights can be changed where they stand.

import { keepingControl } from "./keeping.js";

const flagged = document.getElementById("flagged");
for (const { select, people, rights } of flagged ? JSON.parse(flagged.textContent) : []) {
  const cell = document.querySelector(`[data-keeping="${select}"]`);
  if (cell?.childElementCount === 0) cell.append(keepingControl(select, { people, rights }));
}
