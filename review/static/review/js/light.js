// The dim setting for dark rooms, remembered by this browser. Not a module: it runs before anything is drawn, so that
// no white page flashes up in a dark room.
{
  const KEY = "rushlight-dim";
  const button = () => document.getElementById("light");

  const show = (dim) => {
    document.documentElement.classList.toggle("dim", dim);
    button()?.setAttribute("aria-pressed", String(dim));
    document.dispatchEvent(new CustomEvent("light-changed"));
  };

  show(localStorage.getItem(KEY) === "yes");
  document.addEventListener("DOMContentLoaded", () => {
    show(localStorage.getItem(KEY) === "yes");
    button()?.addEventListener("click", () => {
      const dim = !document.documentElement.classList.contains("dim");
      localStorage.setItem(KEY, dim ? "yes" : "no");
      show(dim);
    });
  });
}
