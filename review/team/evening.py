"""Bringing down the longest shares: by moving whole pieces, by exchanging two, and only then by cutting one."""

from bisect import bisect_left
from collections.abc import Sequence

from review.team.shares import Cut, Desk, Piece

AIM = 1.04  # of the level: where bringing down stops, so that rounding to whole frames stays within splitting.NEAR
SHORTEST_PART = 120.0  # seconds: nothing is cut shorter
_STEPS = 400


def even_out(desk: Desk, cut: Cut) -> None:
    """Bring the longest share down, step by step, until it is near the level or nothing helps."""
    for _ in range(_STEPS):
        heavy = max((name for name in desk.given if desk.given[name]), key=desk.ratio, default=None)
        if heavy is None or desk.ratio(heavy) <= AIM * desk.level:
            return
        light = sorted((name for name in desk.hands if name != heavy), key=desk.ratio)[:4]
        if not (_move(desk, heavy, light) or _exchange(desk, heavy, light) or _cut_one(desk, heavy, light, cut)):
            return


def _move(desk: Desk, heavy: str, light: Sequence[str]) -> bool:
    """Move a piece, to where its group is rather than not, and so that the two are as even as they get."""
    best = None
    for name in light:
        for piece in desk.given[heavy]:
            peak = max(desk.ratio(heavy, -piece.seconds), desk.ratio(name, piece.seconds))
            if peak < desk.ratio(heavy) * 0.999 and desk.may(name, piece):
                good = max(peak, AIM * desk.level), -desk.nearness(name, piece.group), peak
                if best is None or good < best[0]:
                    best = good, name, piece
    if best is None:
        return False
    _, name, piece = best
    desk.take(heavy, piece)
    desk.give(name, piece)
    return True


def _exchange(desk: Desk, heavy: str, light: Sequence[str]) -> bool:
    """Give a longer piece for a shorter one."""
    best = None
    for name in light:
        theirs = sorted(desk.given[name], key=lambda each: each.seconds)
        lengths = [piece.seconds for piece in theirs]
        hours, other = desk.hands[heavy].hours, desk.hands[name].hours
        excess = (desk.load[heavy] * other - desk.load[name] * hours) / (hours + other)  # moved, it evens the two
        for piece in desk.given[heavy]:
            at = bisect_left(lengths, piece.seconds - excess)
            for back in theirs[max(0, at - 1) : at + 1]:
                more = piece.seconds - back.seconds
                peak = max(desk.ratio(heavy, -more), desk.ratio(name, more))
                if peak >= desk.ratio(heavy) * 0.999 or not _may_exchange(desk, heavy, piece, name, back):
                    continue
                near = desk.nearness(name, piece.group) + desk.nearness(heavy, back.group)
                good = max(peak, AIM * desk.level), -near, peak
                if best is None or good < best[0]:
                    best = good, name, piece, back
    if best is None:
        return False
    _, name, piece, back = best
    desk.take(heavy, piece)
    desk.take(name, back)
    desk.give(name, piece)
    desk.give(heavy, back)
    return True


def _may_exchange(desk: Desk, heavy: str, piece: Piece, name: str, back: Piece) -> bool:
    # Two of one clip would have to be looked at together: they are left where they are.
    return piece.clip != back.clip and desk.may(name, piece) and desk.may(heavy, back)


def _cut_one(desk: Desk, heavy: str, light: Sequence[str], cut: Cut) -> bool:
    """Cut the longest piece that can be, and move what is too much of it."""
    for name in light:
        hours, other = desk.hands[heavy].hours, desk.hands[name].hours
        excess = min(
            (desk.load[heavy] * other - desk.load[name] * hours) / (hours + other),
            max(desk.load[heavy] - desk.level * hours, SHORTEST_PART),
        )
        slack = min(0.5 * (AIM - 1) * desk.level * min(hours, other), 0.5 * excess)
        for piece in sorted(desk.given[heavy], key=lambda each: -each.seconds):
            if piece.seconds < excess + SHORTEST_PART or excess < SHORTEST_PART:
                break
            at = piece.seconds - excess
            halves = cut(piece, at, at - slack, at + slack) if desk.may(name, piece) else None
            if halves:
                desk.take(heavy, piece)
                desk.give(heavy, halves[0])
                desk.give(name, halves[1])
                return True
    return False
