// The pointer on the map: drag to pan, turn the wheel with Ctrl to zoom, point at a clip, click it.

const STILL = 4; // px that a click may move

/**
 * Listens on `box`; calls acts.pan(pixels), acts.zoom(factor, x, y), acts.point(x, y) (null beside the map),
 * acts.open(x, y).
 */
export function listenToHand(box, acts) {
  let held = null; // {x, moved}
  const place = (event) => {
    const { left, top } = box.getBoundingClientRect();
    return [event.clientX - left, event.clientY - top];
  };
  box.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    box.setPointerCapture(event.pointerId);
    held = { x: event.clientX, moved: 0 };
  });
  box.addEventListener("pointermove", (event) => {
    if (!held) return acts.point(...place(event));
    held.moved += Math.abs(event.clientX - held.x);
    if (held.moved > STILL) acts.pan(held.x - event.clientX);
    held.x = event.clientX;
  });
  box.addEventListener("pointerup", (event) => {
    if (held && held.moved <= STILL) acts.open(...place(event));
    held = null;
  });
  box.addEventListener("pointercancel", () => (held = null));
  box.addEventListener("pointerleave", () => acts.point(null));
  box.addEventListener(
    "wheel",
    (event) => {
      if (event.ctrlKey || event.metaKey) acts.zoom(1.0025 ** event.deltaY, ...place(event));
      else if (event.deltaX || event.shiftKey) acts.pan(event.deltaX || event.deltaY);
      else return; // the page scrolls
      event.preventDefault();
    },
    { passive: false },
  );
}
