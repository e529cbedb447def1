"""Template tags: numbers as people say them, and pictures."""

import math
from fractions import Fraction
from urllib.parse import urlencode

from django import template
from django.urls import reverse
from django.utils.html import escape, format_html, format_html_join
from django.utils.safestring import SafeString

from review.cards.findings import STOP
from review.cards.media_kinds import TAPES, drives_that_read, drives_that_write, kind_of, tape_generation
from review.models import Card, Clip, Copy, Medium, TapeDrive
from review.searching import folding
from review.searching.asking import Question
from review.searching.wanted import Wanted, written
from review.timecode import Rate

register = template.Library()


@register.filter
def duration(seconds) -> str:
    """1 h 04 min, 12 min 30 s, 42 s: to the nearest second (a half is rounded up, as in durations.js), and below ten
    seconds to the tenth."""
    if 0 < seconds < 10:
        return f"{float(seconds):.1f} s"
    whole = math.floor(Fraction(seconds) + Fraction(1, 2))
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    if hours:
        return f"{hours} h {minutes:02} min"
    if minutes:
        return f"{minutes} min {rest:02} s"
    return f"{rest} s"


@register.filter
def options(values) -> SafeString:
    """What a datalist offers: written at once, as there may be hundreds."""
    return format_html_join("", '<option value="{}"></option>', ((each,) for each in values))


@register.filter
def found(text: str, question: Question) -> SafeString:
    """A text with the words in it that a search found."""
    if not question.words:
        return SafeString(escape(text))
    written = (
        f"<mark>{escape(piece)}</mark>" if any(map(question.finds, words)) else escape(piece)
        for piece, words in folding.pieces(text)
    )
    return SafeString("".join(written))


@register.filter
def signed(number: float) -> str:
    """+6.4, −14.9."""
    return f"{number:+.1f}".replace("-", "−")


@register.filter
def clip_seconds(frames: int, clip: Clip) -> Fraction:
    return Rate(clip.rate_numerator, clip.rate_denominator).seconds(frames)


@register.filter
def label(frame: int, clip: Clip) -> str:
    """The source timecode of a frame of a clip."""
    return clip.label(frame)


@register.filter
def channel_words(clip: Clip) -> str:
    """The names of a clip's channels, as far as they are known: '1 boom, 3 lapel'."""
    return ", ".join(f"{number} {name}" for number, name in enumerate(clip.channel_names, start=1) if name)


@register.filter
def timebase(clip) -> str:
    """29.97 DF, 25."""
    base = clip.timebase
    return f"{base.rate}{' DF' if base.drop else ' NDF' if base.rate.can_drop else ''}"


@register.filter
def size(count: int) -> str:
    """Bytes in powers of a thousand, as drives are sold."""
    value = float(count)
    for unit in ("bytes", "kB", "MB", "GB", "TB"):
        if value < 1000 or unit == "TB":
            return f"{value:,.0f} {unit}" if unit == "bytes" or value >= 100 else f"{value:,.1f} {unit}"
        value /= 1000
    raise AssertionError


@register.filter
def percent(part, whole) -> int:
    """The nearest whole per cent; but anything short of all is never said to be 100, and anything at all never 0."""
    if not whole:
        return 0
    nearest = math.floor(100 * part / whole + 0.5)
    return min(max(nearest, 1), 99) if 0 < part < whole else nearest


@register.filter
def trust(card: Card) -> str:
    """What a card's state means, in a sentence; the weaker kind of verified is always said."""
    if card.state == Card.State.VERIFIED:
        return {
            Card.Proof.CHECKSUMS: "verified against its checksums",
            Card.Proof.PARTIAL: "verified; some files came without checksums",
            Card.Proof.NONE: "not proven: no checksums came",
        }[card.proof]
    return {
        Card.State.FOUND: "found, not checked yet",
        Card.State.CHECKING: "being checked",
        Card.State.HELD: "held",
        Card.State.ACCEPTED: "held, accepted by a person",
    }[card.state]


@register.filter
def why_held(card: Card) -> str:
    """The first thing that holds a card, and how many more there are."""
    stops = [each["what"] for each in card.findings if each["severity"] == STOP]
    if not stops:
        return ""
    return stops[0] if len(stops) == 1 else f"{len(stops)} findings: {stops[0]}"


@register.filter
def trust_class(card: Card) -> str:
    return "weak" if card.state == Card.State.VERIFIED and card.proof != Card.Proof.CHECKSUMS else card.state


@register.filter
def copy_words(copy: Copy) -> str:
    """What is known of a copy, in a few words."""
    works_here = copy.folder == copy.card.folder  # its state is what the card's own check said
    words = {
        Copy.State.FOUND: "not compared yet",
        Copy.State.SAME: "the same, byte for byte",
        Copy.State.FAILED: "held, with the card" if works_here else "not the same",
    }[copy.state]
    return words if copy.here else f"{words}; away now"


@register.filter
def medium_words(medium: Medium) -> str:
    return kind_of(medium.kind).words + ("; retired" if medium.retired_at else "")


@register.filter
def tape_words(medium: Medium) -> str:
    """Which drives read and write a tape; '' for what is no tape."""
    generation = tape_generation(medium.kind)
    if generation is None:
        return ""
    read, written = _generations(drives_that_read(generation)), _generations(drives_that_write(generation))
    return f"Drives that read it: {read}; that write it: {written}. It holds {TAPES[generation].native_terabytes} TB."


@register.filter
def drive_reads(drive: TapeDrive) -> str:
    return _generations(TAPES[drive.generation].reads)


@register.filter
def drive_writes(drive: TapeDrive) -> str:
    return _generations(TAPES[drive.generation].writes)


def _generations(numbers) -> str:
    return ", ".join(f"LTO-{number}" for number in numbers)


@register.simple_tag
def picture(clip: Clip, frame: int = 0) -> SafeString:
    """The filmstrip's picture nearest before a frame, cut out of its sheet."""
    strip = clip.filmstrip
    if not strip or not strip["count"]:
        return SafeString('<span class="picture none"></span>')
    index = min(frame // strip["every"], strip["count"] - 1)
    sheet, place = divmod(index, strip["columns"] * strip["rows"])
    row, column = divmod(place, strip["columns"])
    wide, high = strip["picture_width"], strip["picture_height"]
    return format_html(
        '<svg class="picture" viewBox="{} {} {} {}" aria-hidden="true"><image href="{}" width="{}" height="{}"/></svg>',
        column * wide,
        row * high,
        wide,
        high,
        reverse("media", args=[clip.id, strip["files"][sheet]]),
        wide * strip["columns"],
        high * strip["rows"],
    )


@register.simple_tag
def meter(watched, skimmed, whole) -> SafeString:
    """A bar of what was watched (solid), skimmed (hatched) and neither (empty). It has no viewBox: stretched into a
    narrow column the hatch would be one flat colour."""
    share = [round(float(100 * part / whole), 1) if whole else 0 for part in (watched, skimmed)]
    words = f"{percent(watched, whole)} % watched, {percent(skimmed, whole)} % skimmed"
    return format_html(
        '<svg class="meter" role="img" aria-label="{0}"><title>{0}</title><rect class="unwatched" width="100%" '
        'height="100%"/><rect class="skimmed" fill="url(#hatch)" x="{1}%" width="{2}%" height="100%"/>'
        '<rect class="watched" width="{1}%" height="100%"/></svg>',
        words,
        share[0],
        share[1],
    )


@register.simple_tag(takes_context=True)
def with_query(context, **changes) -> str:
    """The address's query with these parameters changed; an empty value takes one out."""
    query = context["request"].GET.copy()
    for name, value in changes.items():
        if value in ("", None):
            query.pop(name, None)
        else:
            query[name] = value
    return f"?{query.urlencode()}"


@register.simple_tag(takes_context=True)
def search_for(context, wanted: Wanted) -> str:
    """The query of another search, shown as this one is. Its days and times were taken out of the words already."""
    query = {"production": context["production"].code, **written(wanted)}
    if view := context["request"].GET.get("view", ""):
        query["view"] = view
    return f"?{urlencode({**query, 'exact': 'yes'})}"
