"""Finding selects: the filters that pages and API share."""

from collections.abc import Mapping
from datetime import date

from django.db.models import Q, QuerySet

from review.models import Select
from review.refusals import Refusal

FILTERS = ("production", "card", "clip", "camera", "date", "tag", "rating", "logger", "text")


def find(selects: QuerySet[Select], wanted: Mapping[str, str]) -> QuerySet[Select]:
    """The undeleted of `selects` that fit every filter given: `card` and `logger` by name, `tag` by name (several
    separated by commas must all be there), `rating` that or better, `text` words in note, tags, card or clip."""
    found = selects.filter(deleted=None)
    for name in FILTERS:
        value = (wanted.get(name) or "").replace("\0", "").strip()  # no text holds it, and a database may refuse it
        if value:
            found = _NARROW[name](found, value)
    return found


def _by_day(found: QuerySet[Select], value: str) -> QuerySet[Select]:
    try:
        return found.filter(clip__card__shoot_date=date.fromisoformat(value))
    except ValueError:
        raise Refusal(f"{value!r} is not a date; write it as 2026-11-12.", "date") from None


def _by_rating(found: QuerySet[Select], value: str) -> QuerySet[Select]:
    if value not in ("0", "1", "2", "3", "4", "5"):
        raise Refusal(f"{value!r} is not a rating; it goes from 0 to 5.", "rating")
    return found.filter(rating__gte=int(value))


def _by_clip(found: QuerySet[Select], value: str) -> QuerySet[Select]:
    if not value.isdecimal() or len(value) > 18:
        raise Refusal(f"{value!r} is not a clip's number.", "clip")
    return found.filter(clip=int(value))


def _by_tags(found: QuerySet[Select], value: str) -> QuerySet[Select]:
    for name in filter(None, (part.strip() for part in value.split(","))):
        found = found.filter(tags__folded=name.casefold())
    return found


def _by_text(found: QuerySet[Select], value: str) -> QuerySet[Select]:
    for word in value.split()[:10]:
        found = found.filter(
            Q(note__icontains=word)
            | Q(clip__name__icontains=word)
            | Q(clip__card__name__icontains=word)
            | Q(id__in=Select.tags.through.objects.filter(tag__name__icontains=word).values("select"))
        )
    return found


_NARROW = {
    "production": lambda found, value: found.filter(clip__card__production__code=value.upper()),
    "card": lambda found, value: found.filter(clip__card__name=value),
    "clip": _by_clip,
    "camera": lambda found, value: found.filter(clip__card__camera=value.upper()),
    "date": _by_day,
    "tag": _by_tags,
    "rating": _by_rating,
    "logger": lambda found, value: found.filter(logger__username=value),
    "text": _by_text,
}
