"""The footage of a story: whole clips.

A clip is of a story when it was rolling while a field note with the story's tag was written, or when a select on it
carries the tag. So a clip may be of several stories, or of none.
"""

from review import stories
from review.coverage import counts, footage
from review.models import Production, Select


def by_story(production: Production) -> dict[str, set[int]]:
    """The ids of the clips of each story, by its tag, in the order of the alphabet. Tags that differ only in case are
    one, as the tag set has it."""
    names = {tag.folded: tag.name for tag in production.tags.all()}
    found: dict[str, set[int]] = {}
    for clip, tags in stories.told(production).items():
        for tag in tags:
            found.setdefault(names.setdefault(tag.casefold(), tag), set()).add(clip)
    tagged = Select.objects.filter(counts(production, "clip__"), deleted=None, tags__isnull=False).order_by()
    for clip, folded in tagged.values_list("clip", "tags__folded").distinct():
        found.setdefault(names[folded], set()).add(clip)
    return dict(sorted(found.items(), key=lambda each: each[0].casefold()))


def clips_of(production: Production, story: str) -> list[int]:
    """The ids of the clips of one story; "none" for those that are of none."""
    told = by_story(production)
    if story == "none":
        known = set().union(*told.values())
        return [clip for clip in footage(production).values_list("id", flat=True) if clip not in known]
    wanted = story.casefold()
    return sorted(next((clips for name, clips in told.items() if name.casefold() == wanted), ()))


def names(production: Production) -> list[str]:
    """The tags that a story can be asked for by: of field notes and of the tag set."""
    noted = production.field_notes.exclude(tag="").order_by().values_list("tag", flat=True).distinct()
    found = {tag.casefold(): tag for tag in noted}
    found |= {tag.folded: tag.name for tag in production.tags.all()}
    return sorted(found.values(), key=str.casefold)
