// The dim setting for dark rooms, remembered by this browser. Not a module: it runs before anything is drawn, so that
// no white page flashes up in a dark room.
{
  const KEY = "rushlight-dim";
  let kept = null; // where the browser keeps nothing, the page does
  const read = () => {
    try {
      return localStorage.getItem(KEY);
    } catch {
      return kept;
    }
  };
  const keep = (value) => {
    kept = value;
    try {
      localStorage.setItem(KEY, value);
    } catch {
      // then it holds for this page only
    }
  };
  const button = () => document.getElementById("light");

  const show = (dim) => {
    document.documentElement.classList.toggle("dim", dim);
    button()?.setAttribute("aria-pressed", String(dim));
    document.dispatchEvent(new CustomEvent("light-changed"));
  };

  show(read() === "yes");
  document.addEventListener("DOMContentLoaded", () => {
    show(read() === "yes");
    button()?.addEventListener("click", () => {
      const dim = !document.documentElement.classList.contains("dim");
      keep(dim ? "yes" : "no");
      show(dim);
    });
  });
}
