"""What happened: who did what to which card, clip, select, list and stint. Written down beside the deed itself, in
its transaction, and never edited."""

from review.models import Activity, Card, Clip, Person, Production

About = Activity.About
_MOST_WORDS = Activity._meta.get_field("words").max_length


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
