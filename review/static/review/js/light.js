// The dim setting for dark rooms, remembered by this browser.

const KEY = "rushlight-dim";

function show(dim) {
  document.documentElement.classList.toggle("dim", dim);
  document.getElementById("light")?.setAttribute("aria-pressed", String(dim));
  document.dispatchEvent(new CustomEvent("light-changed"));
}

show(localStorage.getItem(KEY) === "yes");
document.getElementById("light")?.addEventListener("click", () => {
  const dim = !document.documentElement.classList.contains("dim");
  localStorage.setItem(KEY, dim ? "yes" : "no");
  show(dim);
});
