"""The footage of a story: whole clips.

A clip is of a story when it was rolling while a field note with the story's tag was written, or when a select on it
carries the tag. So a clip may be of several stories, or of none.
"""

from review.models import Production, Select
from review.record import news, stories
from review.record.coverage import counts, footage
from review.remembered import Remembered

_BY_STORY = Remembered(most=4)


def by_story(production: Production) -> dict[str, set[int]]:
    """The ids of the clips of each story, by its tag, in the order of the alphabet. Tags that differ only in case are
    one, as the tag set has it. Remembered until something happens; it must not be changed."""
    happened = (*stories.version(production), *news.latest(production))
    return _BY_STORY.get((production.id, production.created), happened, lambda: _by_story(production))


def _by_story(production: Production) -> dict[str, set[int]]:
    tags = list(production.tags.all())
    names = {tag.folded: tag.name for tag in tags}
    found: dict[str, set[int]] = {}
    for clip, noted in stories.told(production).items():
        for tag in noted:
            found.setdefault(names.setdefault(tag.casefold(), tag), set()).add(clip)
    of_tag: dict[int, set[int]] = {}
    tagged = Select.objects.filter(counts(production, "clip__"), deleted=None, tags__isnull=False).order_by()
    for clip, tag in tagged.values_list("clip", "tags").distinct():
        of_tag.setdefault(tag, set()).add(clip)
    for tag in tags:
        if tag.id in of_tag:
            found.setdefault(tag.name, set()).update(of_tag[tag.id])
    return dict(sorted(found.items(), key=lambda each: each[0].casefold()))


def clips_of(production: Production, story: str) -> set[int]:
    """The ids of the clips of one story; "none" for those that are of none."""
    wanted, none = story.casefold(), story == "none"
    told = stories.told(production).items()
    found = {clip for clip, tags in told if none or any(tag.casefold() == wanted for tag in tags)}
    tagged = Select.objects.filter(counts(production, "clip__"), deleted=None, tags__isnull=False).order_by()
    tagged = tagged if none else tagged.filter(tags__folded=wanted)
    found.update(tagged.values_list("clip", flat=True).distinct())
    return set(footage(production).values_list("id", flat=True)) - found if none else found


def names(production: Production) -> list[str]:
    """The tags that a story can be asked for by: of field notes and of the tag set."""
    noted = production.field_notes.exclude(tag="").order_by().values_list("tag", flat=True).distinct()
    found = {tag.casefold(): tag for tag in noted}
    found |= {tag.folded: tag.name for tag in production.tags.all()}
    return sorted(found.values(), key=str.casefold)
