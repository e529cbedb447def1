// Every way to change marks, as arithmetic on what they say: no page, no server.
//
// A content is {in_frame, out_frame, tags, note, rating}, frames [in_frame, out_frame) of a clip of `length` frames.
// What cannot be done throws a CannotEdit with words for the person.

import { union } from "./ranges.js";

const LONGEST_NOTE = 10_000; // characters and tags, as the server has it
const MOST_TAGS = 50;

export class CannotEdit extends Error {}

/** The two contents that a content falls into before `frame`. */
export function split(content, frame) {
  if (frame <= content.in_frame || frame >= content.out_frame) {
    throw new CannotEdit("Go to a frame inside the select: it is split before the frame on the screen.");
  }
  return [
    { ...content, out_frame: frame },
    { ...content, in_frame: frame },
  ];
}

/** One content of several that touch or overlap: all frames, all tags, all notes, the highest rating. */
export function join(contents) {
  if (contents.length < 2) throw new CannotEdit("There is no other select that touches or overlaps this one.");
  const ranges = union(contents.map(({ in_frame, out_frame }) => [in_frame, out_frame]));
  if (ranges.length > 1) throw new CannotEdit("Only selects that touch or overlap can be joined; these lie apart.");
  const inOrder = [...contents].sort((a, b) => a.in_frame - b.in_frame || a.out_frame - b.out_frame);
  const joined = {
    in_frame: ranges[0][0],
    out_frame: ranges[0][1],
    tags: mergedTags(inOrder.map(({ tags }) => tags)),
    note: [...new Set(inOrder.map(({ note }) => note.trim()).filter(Boolean))].join("\n"),
    rating: Math.max(...inOrder.map(({ rating }) => rating)),
  };
  if (joined.note.length > LONGEST_NOTE) throw new CannotEdit("Their notes together are too long for one select.");
  if (joined.tags.length > MOST_TAGS) throw new CannotEdit(`Together they have more than ${MOST_TAGS} tags.`);
  return joined;
}

/** Tags of several lists, each word once however it is written. */
export function mergedTags(lists) {
  const merged = new Map();
  for (const tag of lists.flat()) if (!merged.has(tag.toLowerCase())) merged.set(tag.toLowerCase(), tag);
  return [...merged.values()];
}

/** In and out moved together by `frames`, as far as the clip goes. */
export function shift({ in_frame, out_frame }, frames, length) {
  const moved = Math.max(-in_frame, Math.min(frames, length - out_frame));
  if (!moved) throw new CannotEdit(`The select stands at the clip's ${frames < 0 ? "first" : "last"} frame already.`);
  return { in_frame: in_frame + moved, out_frame: out_frame + moved };
}

/** The in point moved by `frames`; at least one frame stays. */
export function nudgeIn({ in_frame, out_frame }, frames) {
  return trim({ in_frame, out_frame }, { in_frame: in_frame + frames }, out_frame);
}

/** The out point moved by `frames`; at least one frame stays. */
export function nudgeOut({ in_frame, out_frame }, frames, length) {
  return trim({ in_frame, out_frame }, { out_frame: out_frame + frames }, length);
}

/** A content with its in or its out, or both, put elsewhere. */
export function trim(content, changes, length) {
  const { in_frame, out_frame } = { ...content, ...changes };
  if (in_frame < 0) throw new CannotEdit("In stands on the clip's first frame already.");
  if (out_frame > length) throw new CannotEdit("Out stands on the clip's last frame already.");
  if (in_frame >= out_frame) throw new CannotEdit("In must stay before out.");
  return { in_frame, out_frame };
}

/** The last `seconds` before and with the frame on the screen, as [in, out); no further back than the clip. */
export function caught(frame, seconds, { numerator, denominator }) {
  const frames = Math.max(1, Math.round((seconds * numerator) / denominator));
  return [Math.max(0, frame + 1 - frames), frame + 1];
}
