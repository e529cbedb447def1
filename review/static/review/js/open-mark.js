// A mark with one end: in or out was pressed, the other is to come. In either order they make a range.

/** @typedef {{in_frame: number|null, out_frame: number|null}} OpenMark frames; the out as in [in, out) */

/** In was pressed at `frame`: {open} goes on, or {range} [in, out) is made, or both ends are not in order ({late}). */
export function markedIn(open, frame) {
  const out = open?.out_frame ?? null;
  if (out !== null && frame < out) return { open: null, range: [frame, out], late: false };
  return { open: { in_frame: frame, out_frame: null }, range: null, late: out !== null };
}

/** Out was pressed on the frame `frame`, which is kept: the same answers. */
export function markedOut(open, frame) {
  const start = open?.in_frame ?? null;
  if (start === null) return { open: { in_frame: null, out_frame: frame + 1 }, range: null, late: false };
  if (frame < start) return { open, range: null, late: true };
  return { open: null, range: [start, frame + 1], late: false };
}

/** The band that an open mark has drawn so far, [in, out), with `frame` on the screen. */
export function bandOf(open, frame) {
  if (open.in_frame !== null) return [open.in_frame, Math.max(frame, open.in_frame) + 1];
  return [Math.min(frame, open.out_frame - 1), open.out_frame];
}
