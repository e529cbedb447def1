"""Splitting footage between loggers: who watches what, so that everybody's share is as long as their hours allow.

Pieces are first given group by group, so that a logger stays in one story, day and camera; then the longest shares
are brought down, by moving whole pieces, by exchanging two, and only then by cutting one. How long a share is, is told
in seconds of footage to each hour of its logger, with what they hold already:

    ratio = (held + given) / hours          level = the ratio that all would have if pieces could be poured

What is promised, and tried in tests: no ratio of anybody who is given something is above NEAR times the level, or else
it is not above what longest-processing-time (longest piece first, each to who would be done with it first) reaches.
So it is at most

- level(all seconds + (loggers - 1) x longest piece), whatever is held: when the last piece of the longest share was
  given, everybody else would have been as late with it;
- 4/3 - 1/(3m) of the best that can be, for m loggers of equal hours who hold nothing (Graham 1969, from memory);
- 2m/(m+1) of it where hours differ (Gonzalez, Ibarra and Sahni 1977, from memory).

The last two are for pieces that anybody may have.
"""

from collections.abc import Iterable, Sequence

from review.team.evening import AIM, SHORTEST_PART, even_out
from review.team.shares import Cut, Desk, Hands, Piece, Shares, in_order, level

__all__ = ["NEAR", "Hands", "Piece", "Shares", "fitting", "level", "longest", "longest_first", "split"]

NEAR = 1.05  # of the level: shares as even as this are good, and nothing is torn apart to make them more so


def split(pieces: Sequence[Piece], loggers: Sequence[Hands], cut: Cut | None = None) -> Shares:
    """Give every piece to a logger, but for second looks that nobody may have: those are left."""
    if not loggers:
        return Shares({}, list(pieces))
    cut = cut or _whole
    firsts = [piece for piece in pieces if not piece.second]
    seconds = [piece for piece in pieces if piece.second]
    grouped = Desk(loggers, _level_of(firsts, loggers))
    _by_groups(grouped, firsts, cut)
    grouped.level = _level_of(pieces, loggers)
    grouped.longest_first(seconds)
    even_out(grouped, cut)
    if grouped.longest <= NEAR * grouped.level:
        return grouped.shares(pieces)
    longest_first = Desk(loggers, grouped.level)
    longest_first.longest_first(firsts)
    longest_first.longest_first(seconds)
    even_out(longest_first, cut)
    best = min((grouped, longest_first), key=lambda desk: (sum(p.seconds for p in desk.left), desk.longest))
    return best.shares(pieces)


def fitting(pieces: Sequence[Piece], loggers: Iterable[Hands], seconds_an_hour: float, cut: Cut | None = None):
    """What of the pieces fits into the loggers' hours at this many seconds of footage an hour, and what does not:
    the urgent first, then in order. The piece at the edge is cut if it can be."""
    room = sum(max(0.0, each.hours * seconds_an_hour - each.held) for each in loggers)
    chosen, rest = [], []
    for piece in sorted(pieces, key=lambda each: not each.urgent):
        if rest or piece.seconds > room:
            halves = None if rest else (cut or _whole)(piece, room, 0.9 * room, room)
            chosen += halves[:1] if halves else []
            rest += halves[1:] if halves else [piece]
        else:
            chosen.append(piece)
            room -= piece.seconds
    return in_order(chosen, pieces), rest


def longest_first(pieces: Sequence[Piece], loggers: Sequence[Hands]) -> Shares:
    """Longest-processing-time by itself: the measure that `split` is held to."""
    desk = Desk(loggers, _level_of(pieces, loggers))
    desk.longest_first([piece for piece in pieces if not piece.second])
    desk.longest_first([piece for piece in pieces if piece.second])
    return desk.shares(pieces)


def longest(shares: Shares, loggers: Sequence[Hands]) -> float:
    """The highest ratio of those who are given something; 0 if nobody is."""
    return max(
        ((each.held + sum(p.seconds for p in shares.given[each.name])) / each.hours
         for each in loggers if shares.given.get(each.name)),
        default=0.0,
    )  # fmt: skip


def _level_of(pieces: Iterable[Piece], loggers: Sequence[Hands]) -> float:
    return level(sum(piece.seconds for piece in pieces), loggers)


def _whole(piece: Piece, at: float, low: float, high: float) -> None:
    return None


def _by_groups(desk: Desk, pieces: Sequence[Piece], cut: Cut) -> None:
    """Leave with everybody what they have, as far as they need it; then give whole groups where they fit: first to who
    is at home in them, then story by story, the longest first."""
    theirs: dict[str, list[Piece]] = {}
    for piece in pieces:
        theirs.setdefault(piece.holder, []).append(piece)
    for name in desk.hands:
        _fill(desk, name, theirs.get(name, []), cut)
    groups: dict[tuple, list[Piece]] = {}
    for piece in in_order([each for waiting in theirs.values() for each in waiting], pieces):
        groups.setdefault(piece.group, []).append(piece)
    homes = [(known, each.name, group) for each in desk.hands.values() for group, known in each.home.items()]
    for _, name, group in sorted(homes, key=lambda each: (-each[0], each[1])):
        _fill(desk, name, groups.get(group, []), cut)
    left: dict[tuple, float] = {}  # of each story
    for group, waiting in groups.items():
        left[group[:1]] = left.get(group[:1], 0.0) + sum(piece.seconds for piece in waiting)
    for group in sorted(groups, key=lambda each: (-left[each[:1]], each)):
        waiting = groups[group]
        while waiting:
            whole = sum(piece.seconds for piece in waiting)
            name = _best_for(desk, group, whole, left[group[:1]])
            if not _fill(desk, name, waiting, cut):
                break
            left[group[:1]] -= whole - sum(piece.seconds for piece in waiting)
        desk.longest_first(waiting)


def _best_for(desk: Desk, group: tuple[str, ...], whole: float, story: float) -> str:
    """Who is to have a group of `whole` seconds, in a story of which `story` seconds are to be given: somebody near it
    with room for it, or else with room for the story, or else with the most room."""
    near = {name: desk.nearness(name, group) for name in desk.hands}
    roomy = [name for name in desk.hands if desk.need(name) >= min(whole, 0.1 * desk.level * desk.hands[name].hours)]
    if any(near[name] for name in roomy):
        return max(roomy, key=lambda name: (near[name], -desk.need(name)))
    enough = [name for name in roomy if desk.need(name) >= story]
    return min(enough, key=desk.need) if enough else max(desk.hands, key=desk.need)


def _fill(desk: Desk, name: str, waiting: list[Piece], cut: Cut) -> bool:
    """Give somebody the first of `waiting` as far as they need them. Says whether they got any. What is longer than
    anybody needs is cut, as it must be."""
    slack = 0.5 * (AIM - 1) * desk.level * desk.hands[name].hours
    got = False
    while waiting:
        need = desk.need(name)
        if waiting[0].seconds > need + slack:
            if waiting[0].seconds <= max(map(desk.need, desk.hands)) + slack:
                break
            halves = cut(waiting[0], need, need - slack, need + slack) if need > SHORTEST_PART else None
            if not halves:
                break
            waiting[:1] = halves
        desk.give(name, waiting.pop(0))
        got = True
    return got
