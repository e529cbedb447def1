"""Which streams of an AVCHD card make one recording: what the playlists say, and where they are silent, the clock."""

from collections.abc import Iterable, Mapping
from functools import cache
from itertools import pairwise

from review.cards.findings import CAUTION, Finding
from review.cards.layouts import mpls
from review.cards.layouts.base import opened
from review.cards.layouts.stream_times import StreamTimes, read_stream_times
from review.cards.tree import CardTree


def runs(
    tree: CardTree, streams: Mapping[str, str], playlists: Iterable[list[mpls.PlayItem]]
) -> tuple[list[list[str]], list[Finding]]:
    """The numbers of `streams` (number -> path) in runs, each one recording; and what is to be said about them.

    A stream that no playlist names is joined to its neighbour by number if its clock runs on without a gap.
    """
    playlists = list(playlists)
    named = {item.clip for items in playlists for item in items}
    times = cache(lambda number: _times(tree, streams[number]))

    def runs_on(before: str, after: str) -> bool | None:
        """None if the streams do not show it."""
        first, second = times(before), times(after)
        return first.runs_on_into(second) if first and second else None

    findings = []
    following = _by_playlists(playlists, streams)
    for before, after in following.items():
        if runs_on(before, after) is False:
            findings.append(_disagree(streams[before], streams[after]))
    joined_by_time: list[str] = []
    for before, after in pairwise(sorted(streams)):
        if not {before, after} <= named and before not in following and runs_on(before, after):
            following[before] = after
            joined_by_time.append(after)
    found = _chained(streams, following)
    findings += [_joined(streams, run) for run in found if not set(joined_by_time).isdisjoint(run)]
    return found, findings


def _by_playlists(playlists: list[list[mpls.PlayItem]], streams: Mapping[str, str]) -> dict[str, str]:
    following: dict[str, str] = {}
    continued: set[str] = set()
    for items in playlists:
        for before, item in pairwise(items):
            # Numbers rise along a recording, so a damaged playlist cannot close a ring or give a file twice.
            if item.connection == mpls.SEAMLESS and before.clip < item.clip and item.clip not in continued:
                continued.add(following.setdefault(before.clip, item.clip))
    return {before: after for before, after in following.items() if {before, after} <= streams.keys()}


def _chained(streams: Mapping[str, str], following: dict[str, str]) -> list[list[str]]:
    found = []
    for number in sorted(streams.keys() - following.values()):
        run = [number]
        while run[-1] in following:
            run.append(following[run[-1]])
        found.append(run)
    return found


def _times(tree: CardTree, path: str) -> StreamTimes | None:
    try:
        with opened(tree, path) as file:
            return read_stream_times(file, tree.sizes[path])
    except OSError:
        return None  # told when the whole file is read


def _joined(streams: Mapping[str, str], run: list[str]) -> Finding:
    paths = [streams[number] for number in run]
    what = (
        f"{' and '.join(paths)} are joined into one clip because their time runs on without a gap; the playlist that "
        "would say so is missing."
    )
    return Finding("joined-by-time", CAUTION, what, "Look at the clip where its files meet.", paths[0])


def _disagree(before: str, after: str) -> Finding:
    what = (
        f"The playlist says that {after} continues {before} without a seam, but its clock does not run on from there. "
        "They were kept as one clip."
    )
    return Finding("time-disagrees", CAUTION, what, "Look at the clip where its files meet.", after)
