"""AVCHD: a BDMV folder (in PRIVATE/AVCHD, in AVCHD, or alone), names in 8.3 capitals or long.

    INDEX.BDM  MOVIEOBJ.BDM        or  index.bdmv  MovieObject.bdmv
    STREAM/00001.MTS               or  00001.m2ts     the footage, in packets of 192 bytes
    CLIPINF/00001.CPI              or  00001.clpi     one for each stream
    PLAYLIST/00000.MPL             or  00000.mpls     which streams follow each other

A stream that continues another without a seam is the same clip (avchd_runs.py). Names are matched without regard to
case. Common practice of the cameras; the format's own book is not public.
"""

from collections import defaultdict
from dataclasses import dataclass, field

from review.cards.findings import STOP, Finding
from review.cards.layouts import faults, mpls
from review.cards.layouts.avchd_runs import runs
from review.cards.layouts.base import ClipPlan, LayoutReading, below, extension, folder_of, stem
from review.cards.layouts.companions import SOUND, VIDEO
from review.cards.layouts.stream_times import PACKET_BYTES
from review.cards.reading import read_small
from review.cards.tree import CardTree

LABEL = "AVCHD"

_STREAM = frozenset({".mts", ".m2ts"})
_SECTIONS = {"stream": _STREAM, "clipinf": {".cpi", ".clpi"}, "playlist": {".mpl", ".mpls"}}
_INDEX = frozenset({"index.bdm", "index.bdmv"})
_MOVIE_OBJECTS = frozenset({"movieobj.bdm", "movieobj.bdmv", "movieobject.bdmv"})


@dataclass
class _Structure:
    """One BDMV folder: paths by their number, such as '00001'."""

    root: str
    inside: bool = False  # of what a BDMV folder holds, without the folder
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

    @property
    def top_folder(self) -> str:
        """The folder that the card lies in."""
        top = self.root
        for name in () if self.inside else ("bdmv", "avchd", "private"):
            if top.rpartition("/")[2].casefold() == name:
                top = folder_of(top)
        return top


def recognises(tree: CardTree) -> bool:
    structures, others = _sort_out(tree)
    return any(each.used for each in structures) or any(extension(path) in _STREAM for path in others)


def read(tree: CardTree) -> LayoutReading:
    structures, others = _sort_out(tree)
    structures = [each for each in structures if each.used]
    plans: list[ClipPlan] = []
    findings = faults.used_twice(LABEL, [(each.top_folder, each.root) for each in structures])
    taken = {path for path in tree.sizes.keys() - set(others) if extension(path) not in VIDEO | SOUND}
    for structure in structures:
        playlists: dict[str, list[mpls.PlayItem]] = {}
        if structure.only_streams:
            findings.append(_only_streams(structure.root, len(structure.stream)))
        else:
            if structure.inside:
                findings.append(faults.too_shallow(structure.root, "a BDMV folder", "PRIVATE/AVCHD/BDMV"))
            playlists = _read_playlists(tree, structure, findings)
            findings += _what_is_missing(structure, playlists)
        plans += _plans(tree, structure, playlists, findings)
    loose: dict[str, _Structure] = {}
    for path in others:
        if extension(path) in _STREAM:
            folder = folder_of(path)
            streams = loose.setdefault(folder, _Structure(folder)).stream
            number = stem(path).casefold()
            streams[path if number in streams else number] = path
            taken.add(path)
    for structure in loose.values():
        findings.append(_only_streams(structure.root, len(structure.stream)))
        plans += _plans(tree, structure, {}, findings)
    findings += [
        _cut_short(path, tree.sizes[path]) for plan in plans for path in plan.files if tree.sizes[path] % PACKET_BYTES
    ]
    tops = frozenset(each.top_folder for each in structures)
    return LayoutReading(LABEL, tuple(plans), tuple(findings), frozenset(taken), tops)


def _sort_out(tree: CardTree) -> tuple[list[_Structure], list[str]]:
    """The card's BDMV folders, or what lies about as they do inside; and the files in none of them."""
    structures: dict[str, _Structure] = {}
    outside = []
    for path in tree.sizes:
        parts = path.split("/")
        lower = [part.casefold() for part in parts]
        if "bdmv" not in lower[:-1]:
            outside.append(path)
            continue
        root = "/".join(parts[: lower.index("bdmv") + 1])
        _put(structures.setdefault(root, _Structure(root)), path)
    inside: dict[str, _Structure] = {}
    for path in outside:
        root = folder_of(folder_of(path)) if _section(path) else folder_of(path)
        _put(inside.setdefault(root, _Structure(root, inside=True)), path)
    bare = {
        root: each for root, each in inside.items() if bool(each.stream) + bool(each.clipinf) + bool(each.playlist) > 1
    }
    others = [path for path in outside if not (_section(path) and folder_of(folder_of(path)) in bare)]
    return [*structures.values(), *bare.values()], others


def _section(path: str) -> str:
    """The folder of a BDMV folder that the file lies in by its name and kind; '' if it is none of them."""
    name = folder_of(path).rpartition("/")[2].casefold()
    return name if extension(path) in _SECTIONS.get(name, ()) else ""


def _put(structure: _Structure, path: str) -> None:
    if folder_of(path) == structure.root:
        structure.top.add(path.rpartition("/")[2].casefold())
    elif folder_of(folder_of(path)) == structure.root and (section := _section(path)):
        numbered = getattr(structure, section)
        number = stem(path).casefold()
        numbered[path if number in numbered else number] = path


def _read_playlists(tree: CardTree, structure: _Structure, findings: list[Finding]) -> dict[str, list[mpls.PlayItem]]:
    playlists = {}
    for path in structure.playlist.values():
        if not tree.sizes[path]:
            continue  # told as an empty file
        try:
            playlists[path] = mpls.parse_playlist(read_small(tree.folder / path, mpls.MAX_BYTES))
        except (OSError, ValueError) as problem:
            findings.append(faults.unreadable_index("bad-playlist", "playlist", path, problem))
    return playlists


def _what_is_missing(structure: _Structure, playlists: dict[str, list[mpls.PlayItem]]) -> list[Finding]:
    root, findings = structure.root, []
    if not structure.top & _INDEX:
        findings.append(faults.missing_index(below(root, "INDEX.BDM"), "The card's index (INDEX.BDM)", root))
    if not structure.top & _MOVIE_OBJECTS:
        findings.append(faults.missing_index(below(root, "MOVIEOBJ.BDM"), "The card's MOVIEOBJ.BDM", root))
    if not structure.playlist:
        what = f"The card's playlists (PLAYLIST/*.MPL) are missing from {faults.place(root)}."
        findings.append(Finding("missing-index", STOP, what, faults.COPY_AGAIN, below(root, "PLAYLIST")))
    for number, path in structure.stream.items():
        if number not in structure.clipinf:
            findings.append(faults.missing_info(path, f"CLIPINF/{number}.CPI"))

    named_by = defaultdict(list)
    for number, path in structure.clipinf.items():
        named_by[number].append(path)
    for playlist, items in playlists.items():
        for number in dict.fromkeys(item.clip for item in items):
            named_by[number].append(playlist)
    for number in sorted(named_by.keys() - structure.stream.keys()):
        where = below(root, f"STREAM/{number}.MTS")
        findings.append(faults.missing_footage(where, named_by[number], "missing-stream"))
    return findings


def _plans(
    tree: CardTree, structure: _Structure, playlists: dict[str, list[mpls.PlayItem]], findings: list[Finding]
) -> list[ClipPlan]:
    found, said = runs(tree, structure.stream, playlists.values())
    findings += said
    return [
        ClipPlan(
            "",
            tuple(structure.stream[number] for number in run),
            tuple(structure.clipinf[number] for number in run if number in structure.clipinf),
        )
        for run in found
    ]


def _only_streams(folder: str, count: int) -> Finding:
    lacking = "the index, the clip information and the playlists"
    return faults.partial_copy("an AVCHD card", "stream files", lacking, folder, count)


def _cut_short(path: str, size: int) -> Finding:
    what = (
        f"{path} is cut short: its {size:,} bytes are not a whole number of {PACKET_BYTES}-byte packets, "
        "so its end is missing or damaged."
    )
    return Finding("truncated-stream", STOP, what, "Copy this file again from the card, then check again.", path)
