// What of a clip somebody is to watch, by the rule that leads from clip to clip (review/team/next_to_watch.py):
// first what they hold, then what nobody holds, never what others do; in the midst of a stretch, first its start.
// tests/data/next_unwatched.json holds both to one table.

import { gaps, intersect } from "./ranges.js";

/**
 * Ranges of a clip of `frames` frames: `own`, `free` and, as `others`, {logger, ranges}. `seen` is what anybody saw and
 * `mine` what `person` did; a second look is for their eyes, whoever has seen it before, and bars nobody.
 */
export function toWatch({ stints, person, seen, mine, frames }) {
  const unseen = gaps(seen, frames);
  const unseenByMe = gaps(mine, frames);
  const range = ({ in_frame: start, out_frame: end }) => [start, end];
  const isOwn = ({ logger }) => logger === person;
  const own = stints.filter(isOwn).flatMap((each) => intersect(each.second ? unseenByMe : unseen, [range(each)]));
  const firsts = stints.filter(({ second }) => !second);
  return {
    own: own.sort((one, other) => one[0] - other[0]),
    free: gaps([...seen, ...firsts.map(range)], frames),
    others: firsts
      .filter((each) => !isOwn(each))
      .map((each) => ({ logger: each.logger, ranges: intersect(unseen, [range(each)]) }))
      .filter(({ ranges }) => ranges.length),
  };
}

/**
 * Where `toWatch`'s answer leads from a `frame` of the clip: `start`, the frame to go to, that of the stretch in whose
 * midst it is or of one ahead, or null where the server has to say; `ownFirst`, whether what the person holds behind or,
 * with `holdsMore`, elsewhere comes before anything else; and `holders`, the names of those who hold anything unseen on
 * the way there, or to `reach`: frames from there on cannot be watched yet.
 */
export function nextHere({ own, free, others }, { frame, reach, holdsMore }) {
  const from = (ranges) => ranges.find(([start, end]) => start !== frame && frame < end && start < reach)?.[0];
  const ownFirst = holdsMore || own.some(([start]) => start < reach);
  const start = from(own) ?? (ownFirst ? null : (from(free) ?? null));
  const way = [frame + 1, start ?? reach];
  const passed = others.filter(({ ranges }) => intersect(ranges, [way]).length);
  return { start, ownFirst, holders: [...new Set(passed.map(({ logger }) => logger))] };
}
