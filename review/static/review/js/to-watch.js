// What of a clip somebody is to watch, by the rule that leads from clip to clip (review/coverage.py, next_unwatched):
// first what they hold, then what nobody holds, never what others do.

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
