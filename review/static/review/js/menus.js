// The menus of every page close as menus do: with Escape, or when something beside them is clicked or reached.

const open = () => document.querySelectorAll("details.menu[open]");

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || document.querySelector("dialog[open]")) return;
  for (const menu of open()) {
    if (menu.contains(document.activeElement)) menu.querySelector("summary").focus();
    menu.open = false;
  }
});

for (const left of ["click", "focusin"]) {
  document.addEventListener(left, ({ target }) => {
    for (const menu of open()) if (!menu.contains(target)) menu.open = false;
  });
}
