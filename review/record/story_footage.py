"""The footage of a story: whole clips.

A clip is of a story when it was rolling while a field note with the story's tag was written, or when a select on it
carries the tag. So a clip may be of several stories, or of none.
"""

import numpy as np

from review.many_ids import Together, ids_in
from review.models import ClipTag, Production
from review.record import news, stories
from review.record.coverage import footage
from review.remembered import Remembered

_BY_STORY = Remembered(most=4)


def by_story(production: Production) -> dict[str, np.ndarray]:
    """The ids of the clips of each story, by its tag, in the order of the alphabet: of any cards, trusted or not. Tags
    that differ only in case are one, as the tag set has it. Remembered until something happens; it must not be
    changed."""
    happened = (*stories.version(production), *news.latest(production))
    return _BY_STORY.get((production.id, production.created), happened, lambda: _by_story(production))


def _by_story(production: Production) -> dict[str, np.ndarray]:
    tags = {tag.id: tag for tag in production.tags.all()}
    names = {tag.folded: tag.name for tag in tags.values()}
    noted: dict[str, list[int]] = {}
    for clip, words in stories.told(production).items():
        for word in words:
            noted.setdefault(names.setdefault(word.casefold(), word), []).append(clip)
    marked = ClipTag.objects.filter(tag__in=tags).order_by().values_list("tag").annotate(clips=Together("clip"))
    found = {tags[tag].name: ids_in(clips) for tag, clips in marked}
    for name, clips in noted.items():
        found[name] = np.union1d(found.get(name, ()), clips).astype(np.int64)
    return dict(sorted(found.items(), key=lambda each: each[0].casefold()))


def clips_of(production: Production, story: str) -> set[int]:
    """The ids of the clips of one story; "none" for those that are of none."""
    wanted, none = story.casefold(), story == "none"
    told = stories.told(production).items()
    found = {clip for clip, tags in told if none or any(tag.casefold() == wanted for tag in tags)}
    tagged = ClipTag.objects.filter(tag__production=production).order_by()
    tagged = tagged if none else tagged.filter(tag__folded=wanted)
    found.update(tagged.values_list("clip", flat=True))
    return set(footage(production).values_list("id", flat=True)) - found if none else found


def names(production: Production) -> list[str]:
    """The tags that a story can be asked for by: of field notes and of the tag set."""
    noted = production.field_notes.exclude(tag="").order_by().values_list("tag", flat=True).distinct()
    found = {tag.casefold(): tag for tag in noted}
    found |= {tag.folded: tag.name for tag in production.tags.all()}
    return sorted(found.values(), key=str.casefold)
