// Arithmetic on half-open ranges of frames, [in, out); the same rules as review/frames.py.

/** Ranges in order and apart, holding every frame of any of those given. */
export function union(ranges) {
  const joined = [];
  for (const [start, end] of [...ranges].sort((a, b) => a[0] - b[0])) {
    if (start >= end) continue;
    const last = joined.at(-1);
    if (last && start <= last[1]) last[1] = Math.max(last[1], end);
    else joined.push([start, end]);
  }
  return joined;
}

/** The frames below `length` that are in none of the ranges. */
export function gaps(ranges, length) {
  const free = [];
  let from = 0;
  for (const [start, end] of union(ranges)) {
    if (start > from) free.push([from, Math.min(start, length)]);
    from = Math.max(from, end);
  }
  if (from < length) free.push([from, length]);
  return free.filter(([start, end]) => start < end);
}

/** The frames that are in both. */
export function intersect(ours, theirs) {
  const both = [];
  for (const [start, end] of union(ours)) {
    for (const [from, until] of union(theirs)) {
      if (Math.max(start, from) < Math.min(end, until)) both.push([Math.max(start, from), Math.min(end, until)]);
    }
  }
  return both;
}

export function count(ranges) {
  return union(ranges).reduce((sum, [start, end]) => sum + end - start, 0);
}
