"""AVCHD: a BDMV folder (in PRIVATE/AVCHD, in AVCHD, or alone), names in 8.3 capitals or long.

    INDEX.BDM  MOVIEOBJ.BDM        or  index.bdmv  MovieObject.bdmv
    STREAM/00001.MTS               or  00001.m2ts     the footage, in packets of 192 bytes
    CLIPINF/00001.CPI              or  00001.clpi     one for each stream
    PLAYLIST/00000.MPL             or  00000.mpls     which streams follow each other

A stream that continues another without a seam is the same clip. Names are matched without regard to case.
Common practice of the cameras; the format's own book is not public.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import PurePosixPath

from review.cards.findings import STOP, Finding
from review.cards.layouts import mpls
from review.cards.layouts.base import ClipPlan, LayoutReading, extension, named, stem
from review.cards.layouts.plain import media_plans
from review.cards.reading import read_small
from review.cards.tree import CardTree

LABEL = "AVCHD"
PACKET_BYTES = 192

_STREAM = frozenset({".mts", ".m2ts"})
_SECTIONS = {"stream": _STREAM, "clipinf": {".cpi", ".clpi"}, "playlist": {".mpl", ".mpls"}}
_INDEX = frozenset({"index.bdm", "index.bdmv"})
_MOVIE_OBJECTS = frozenset({"movieobj.bdm", "movieobj.bdmv", "movieobject.bdmv"})
_COPY_AGAIN = "Copy the whole card again, from its top folder, before it is wiped; then check again."


@dataclass
class _Structure:
    """One BDMV folder: paths by their number, such as '00001'."""

    root: str
    stream: dict[str, str] = field(default_factory=dict)
    clipinf: dict[str, str] = field(default_factory=dict)
    playlist: dict[str, str] = field(default_factory=dict)
    top: set[str] = field(default_factory=set)  # names directly in it, in lower case

    @property
    def used(self) -> bool:
        """Cameras of two formats make an empty one beside their other footage."""
        return bool(self.stream or self.clipinf or self.playlist)

    @property
    def only_streams(self) -> bool:
        return bool(self.stream) and not (self.clipinf or self.playlist or self.top & (_INDEX | _MOVIE_OBJECTS))


def recognises(tree: CardTree) -> bool:
    structures, others = _sort_out(tree)
    return any(each.used for each in structures) or any(extension(path) in _STREAM for path in others)


def read(tree: CardTree) -> LayoutReading:
    structures, others = _sort_out(tree)
    plans: list[ClipPlan] = []
    findings: list[Finding] = []
    for structure in structures:
        if structure.only_streams:
            findings.append(_partial_copy(structure.root, len(structure.stream)))
            plans += [ClipPlan("", (path,)) for path in structure.stream.values()]
        elif structure.used:
            playlists = _read_playlists(tree, structure, findings)
            findings += _what_is_missing(structure, playlists)
            plans += _plans(structure, playlists)
    loose = defaultdict(list)
    for path in others:
        if extension(path) in _STREAM:
            loose[str(PurePosixPath(path).parent)].append(path)
            plans.append(ClipPlan("", (path,)))
    findings += [_partial_copy("" if folder == "." else folder, len(paths)) for folder, paths in loose.items()]
    findings += [
        _cut_short(path, tree.sizes[path]) for plan in plans for path in plan.files if tree.sizes[path] % PACKET_BYTES
    ]
    return LayoutReading(LABEL, named(plans + media_plans(others)), tuple(findings))


def _sort_out(tree: CardTree) -> tuple[list[_Structure], list[str]]:
    """The card's BDMV folders, and the files in none of them."""
    structures: dict[str, _Structure] = {}
    others = []
    for file in tree.files:
        parts = file.path.split("/")
        lower = [part.casefold() for part in parts]
        if "bdmv" not in lower[:-1]:
            others.append(file.path)
            continue
        depth = lower.index("bdmv") + 1
        root = "/".join(parts[:depth])
        structure = structures.setdefault(root, _Structure(root))
        if len(parts) == depth + 1:
            structure.top.add(lower[-1])
        elif len(parts) == depth + 2 and extension(file.path) in _SECTIONS.get(lower[depth], ()):
            getattr(structure, lower[depth])[stem(lower[-1])] = file.path
    return list(structures.values()), others


def _read_playlists(tree: CardTree, structure: _Structure, findings: list[Finding]) -> dict[str, list[mpls.PlayItem]]:
    playlists = {}
    for path in structure.playlist.values():
        if not tree.sizes[path]:
            continue  # told as an empty file
        try:
            playlists[path] = mpls.parse_playlist(read_small(tree.folder / path, mpls.MAX_BYTES))
        except (OSError, ValueError) as problem:
            reason = problem.strerror if isinstance(problem, OSError) else problem
            what = f"The playlist {path} cannot be read: {reason}. It may name streams that are not here."
            findings.append(Finding("bad-playlist", STOP, what, _COPY_AGAIN, path))
    return playlists


def _what_is_missing(structure: _Structure, playlists: dict[str, list[mpls.PlayItem]]) -> list[Finding]:
    root, findings = structure.root, []

    def stop(code: str, where: str, what: str) -> None:
        findings.append(Finding(code, STOP, what, _COPY_AGAIN, where))

    if not structure.top & _INDEX:
        stop("missing-index", f"{root}/INDEX.BDM", f"The card's index (INDEX.BDM) is missing from {root}.")
    if not structure.top & _MOVIE_OBJECTS:
        stop("missing-index", f"{root}/MOVIEOBJ.BDM", f"The card's MOVIEOBJ.BDM is missing from {root}.")
    if not structure.playlist:
        stop("missing-index", f"{root}/PLAYLIST", f"The card's playlists (PLAYLIST/*.MPL) are missing from {root}.")
    for number, path in structure.stream.items():
        if number not in structure.clipinf:
            stop("missing-clip-info", path, f"{path} came without its clip information (CLIPINF/{number}.CPI).")

    named_by = defaultdict(list)
    for number, path in structure.clipinf.items():
        named_by[number].append(path)
    for playlist, items in playlists.items():
        for number in dict.fromkeys(item.clip for item in items):
            named_by[number].append(playlist)
    for number in sorted(named_by.keys() - structure.stream.keys()):
        where, witnesses = f"{root}/STREAM/{number}.MTS", " and ".join(named_by[number])
        stop("missing-stream", where, f"The footage {where} is missing; it is named by {witnesses}.")
    return findings


def _plans(structure: _Structure, playlists: dict[str, list[mpls.PlayItem]]) -> list[ClipPlan]:
    following: dict[str, str] = {}
    continued: set[str] = set()
    for items in playlists.values():
        for before, item in pairwise(items):
            # Numbers rise along a recording, so a damaged playlist cannot close a ring or give a file twice.
            if item.connection == mpls.SEAMLESS and before.clip < item.clip and item.clip not in continued:
                continued.add(following.setdefault(before.clip, item.clip))
    here = {before: after for before, after in following.items() if {before, after} <= structure.stream.keys()}
    plans = []
    for number in sorted(structure.stream.keys() - here.values()):
        run = [number]
        while run[-1] in here:
            run.append(here[run[-1]])
        files = tuple(structure.stream[each] for each in run)
        plans.append(ClipPlan("", files, tuple(structure.clipinf[each] for each in run if each in structure.clipinf)))
    return plans


def _partial_copy(folder: str, count: int) -> Finding:
    what = (
        f"Only the stream files of an AVCHD card came ({count} in {folder or 'the card folder'}): the index, the clip "
        "information and the playlists are missing. The card was copied in part, and nothing tells whether all its "
        "footage is here."
    )
    return Finding("partial-copy", STOP, what, _COPY_AGAIN, folder)


def _cut_short(path: str, size: int) -> Finding:
    what = (
        f"{path} is cut short: its {size:,} bytes are not a whole number of {PACKET_BYTES}-byte packets, "
        "so its end is missing or damaged."
    )
    return Finding("truncated-stream", STOP, what, "Copy this file again from the card, then check again.", path)
