"""Which clips of an MXF card with CONTENTS make one recording, and where a recording goes on on another card."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from itertools import pairwise

from review.cards.findings import CAUTION, Finding
from review.cards.layouts.contents_xml import ClipXml


def shots(clips: Mapping[str, ClipXml], here: Mapping[str, str]) -> tuple[list[list[str]], list[Finding]]:
    """The names in `here` (the paths of the pictures that came) in runs, each one recording; and what is to be said.

    `clips` is what is known of them, by name; a clip of which nothing is known is a recording by itself.
    """
    following = _following(clips, here)
    runs = []
    for name in sorted(set(here) - set(following.values())):
        run = [name]
        while run[-1] in following:
            run.append(following[run[-1]])
        runs.append(run)
    return runs, _elsewhere(clips, here)


def _following(clips: Mapping[str, ClipXml], here: Collection[str]) -> dict[str, str]:
    parts = defaultdict(list)
    for name, clip in clips.items():
        if clip.shot_id and clip.offset is not None and name in here:
            parts[clip.shot_id].append(name)
    following = {}
    for names in parts.values():
        names.sort(key=lambda name: (clips[name].offset, name))
        for before, after in pairwise(names):
            if _goes_on(clips[before], clips[after]):
                following[before] = after
    return following


def _goes_on(before: ClipXml, after: ClipXml) -> bool:
    """By what they say of each other, or, where they say nothing, by where in the shot they lie."""
    if not (before.offset or 0) < (after.offset or 0):
        return False
    if before.following or after.previous:
        return before.following == after.clip_id != "" or after.previous == before.clip_id != ""
    return before.duration is not None and before.offset is not None and before.offset + before.duration == after.offset


def _elsewhere(clips: Mapping[str, ClipXml], here: Mapping[str, str]) -> list[Finding]:
    ids = {clip.clip_id for clip in clips.values()}
    findings = []
    for name, clip in clips.items():
        for other, called, how in (
            (clip.previous, clip.previous_name, "goes on from"),
            (clip.following, clip.following_name, "goes on in"),
        ):
            if other and other not in ids:
                which = f"clip {called} (id {other})" if called else f"the clip with the id {other}"
                what = (
                    f"The recording in clip {name.upper()} {how} {which}, which is not on this card: it is on another "
                    "card of that camera, or it did not come."
                )
                next_step = "Look for that clip on the cards recorded before and after this one."
                findings.append(Finding("goes-on-elsewhere", CAUTION, what, next_step, here.get(name, "")))
    return findings
