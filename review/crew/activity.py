"""What happened: who did what to which card, clip, select, list and stint. Written down beside the deed itself, in
its transaction, and never edited."""

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone

from review.models import Activity, Card, Clip, Person, Production
from review.refusals import Refusal

About = Activity.About
_MOST_WORDS = Activity._meta.get_field("words").max_length
FILTERS = ("person", "about", "card", "day", "text")
BY_ITSELF = "-"  # in place of a person: what workers did
# Who is to watch what: also second looks, which are written down with their clip or card, and splits, which once were
# with the production.
_STINTS = (
    Q(about=About.STINT)
    | Q(about=About.PRODUCTION, did="accepted")
    | Q(about__in=(About.CLIP, About.CARD), did__in=("asked for", "ended"))
)


def happened(
    production: Production,
    person: Person | None,
    did: str,
    words: str,
    about: str,
    subject: object = "",
    *,
    card: Card | None = None,
    clip: Clip | None = None,
) -> Activity:
    """Write down that `person` (None: a worker, by itself) `did` something: a verb in the past, "marked", and the rest
    of the sentence in `words`. `subject` is the id of what it was done to, of the kind `about`."""
    if len(words) > _MOST_WORDS:
        words = words[: _MOST_WORDS - 1] + "…"
    card = card or (clip.card if clip else None)
    return Activity.objects.create(
        production=production,
        person=person,
        did=did,
        words=words,
        about=about,
        subject=str(subject),
        card=card,
        clip=clip,
    )


def to_card(card: Card, person: Person | None, did: str, more: str = "") -> Activity:
    """Write down what was done to a card; its name comes first in the words."""
    return happened(card.production, person, did, f"{card.name}{more}", About.CARD, card.id, card=card)


def find(production: Production, wanted: Mapping[str, str]) -> QuerySet[Activity]:
    """What happened in a production, as far as `wanted` fits: a person's sign-in name (or BY_ITSELF),
    `about` (a kind), a card's name, a `day` (2026-11-12) and words that are in the sentence. Raises Refusal."""
    found = production.activity.select_related("person", "card", "clip")
    wanted = {name: wanted.get(name, "").replace("\0", "").strip() for name in FILTERS}
    if wanted["person"] == BY_ITSELF:
        found = found.filter(person=None)
    elif wanted["person"]:
        found = found.filter(person__username=wanted["person"])
    if wanted["about"]:
        if wanted["about"] not in About.values:
            raise Refusal(f"{wanted['about'][:40]!r} is none of the kinds: {', '.join(About.values)}.", "about")
        found = found.filter(_STINTS if wanted["about"] == About.STINT else Q(about=wanted["about"]))
    if wanted["card"]:
        found = found.filter(card__name=wanted["card"])
    if wanted["day"]:
        found = found.filter(**_within(wanted["day"]))
    for word in wanted["text"].split()[:10]:
        found = found.filter(Q(words__icontains=word) | Q(did__icontains=word))
    return found


def newest_first(production: Production, found: QuerySet[Activity], before: int | None = None) -> QuerySet[Activity]:
    """Rows of a production in order of time; those that come after the row with the number `before`, if given."""
    last = production.activity.filter(id=before).first() if before is not None else None
    if last:  # the first part is for the index
        found = found.filter(Q(at__lt=last.at) | Q(at=last.at, id__lt=last.id), at__lte=last.at)
    return found.order_by("-at", "-id")


def _within(day: str) -> dict[str, datetime]:
    try:
        first = date.fromisoformat(day)
        since, until = (datetime.combine(each, time()) for each in (first, first + timedelta(days=1)))
        return {"at__gte": timezone.make_aware(since), "at__lt": timezone.make_aware(until)}
    except (ValueError, OverflowError):
        raise Refusal(f"{day[:20]!r} is no date; write it as 2026-11-12.", "day") from None
