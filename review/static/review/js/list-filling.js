// What a row needs only when it is seen: its picture and its buttons. A list of a thousand would otherwise fetch hundreds
// of filmstrips at once.

const NEAR = "600px 0px";
const SVG = "http://www.w3.org/2000/svg";
let watching = null;

/** Fills the rows below `list` as they come near. */
export function fillRows(list) {
  watching?.disconnect();
  const acts = list.querySelector("#acts");
  watching = new IntersectionObserver(
    (seen) => {
      for (const { isIntersecting, target } of seen) {
        if (!isIntersecting) continue;
        watching.unobserve(target);
        target.querySelector(".thumb a").replaceChildren(picture(target.dataset.picture));
        if (acts) target.querySelector(".order").replaceChildren(acts.content.cloneNode(true));
      }
    },
    { rootMargin: NEAR },
  );
  for (const row of list.querySelectorAll("tr[data-select]")) watching.observe(row);
}

// The sheet's address, then left, top, width and height of the picture in it, and the sheet's width and height.
function picture(words) {
  const [sheet, left, top, width, height, sheetWidth, sheetHeight] = words.split(" ");
  if (!sheet) return Object.assign(document.createElement("span"), { className: "picture none" });
  const drawn = document.createElementNS(SVG, "svg");
  const image = document.createElementNS(SVG, "image");
  drawn.setAttribute("class", "picture");
  drawn.setAttribute("viewBox", `${left} ${top} ${width} ${height}`);
  drawn.setAttribute("aria-hidden", "true");
  image.setAttribute("href", sheet);
  image.setAttribute("width", sheetWidth);
  image.setAttribute("height", sheetHeight);
  drawn.append(image);
  return drawn;
}
