import uuid

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from review import responses, roles
from review.api.selects import SelectSerializer
from review.api.together import HeldSerializer
from review.crew import access, habits
from review.derived import proxying, sectioning
from review.media import lanes
from review.media.proxy import MOST_CHANNELS
from review.models import Clip, Stint
from review.pages.current import current_production, remember
from review.pages.errors import NotHere, refusing
from review.pages.preload import modules_of
from review.record import angles, coverage, field_notes, presence
from review.team import next_to_watch, second_looks

_ORIGIN = ("carried_from_id", "carried_from__clip__card__camera")


@login_required
@refusing
def watch(request, clip_id: int):
    """The watching page; `?frame=N` opens it at that frame."""
    clip = get_object_or_404(access.clips(request.user).select_related("card__production"), id=clip_id)
    production = clip.card.production
    remember(request, production)
    asked = request.GET.get("frame", "0")
    frame = min(int(asked), max(0, clip.frames - 1)) if asked.isdecimal() and len(asked) < 12 else 0
    timed = clip.card.shoot_date is not None  # so that it has a place in its day
    stints = presence.held(clip)
    return render(
        request,
        "review/clip.html",
        {
            "clip": clip,
            "card": clip.card,
            "proxy": proxying.playable(clip),
            "neighbours": _neighbours(clip),
            "back": _list_asked(request, clip, frame),
            "stints": stints,
            "looks": second_looks.waiting(clip),
            "may_ask": access.may(request.user, production, roles.ASK_SECOND_LOOKS),
            "left": _left(request, clip),
            "modules": modules_of("watching-page.js"),
            "facts": _facts(request, clip, frame, timed, stints),
            "timed": timed,
            "rolled_together": timed and bool(angles.of(clip, 0, clip.frames)),
        },
    )


def _list_asked(request, clip: Clip, frame: int) -> dict | None:
    """The list that somebody came from, `?list=N`, and where in it, to go back to."""
    asked = request.GET.get("list", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        return None
    found = access.lists(request.user).filter(production=clip.card.production_id, id=int(asked)).first()
    if found is None:
        return None
    begins_here = Q(in_frame=frame) | Q(in_frame=None, select__in_frame=frame)
    entry = found.entries.filter(begins_here, select__clip=clip, select__deleted=None).first()
    return {
        "name": found.name,
        "address": reverse("list", args=[found.id]) + (f"#e-{entry.select_id}" if entry else ""),
    }


def _left(request, clip: Clip) -> dict | None:
    """Where the last other person left the clip, for whoever comes next; None if nobody did, or they are still here."""
    left = presence.last_left(clip, request.user)
    if left is None or not (left.unseen or left.viewing.remark):
        return None  # all of it is seen, and nothing was said
    if left.viewing.person_id in {viewing.person_id for viewing in presence.others_at(clip)}:
        return None
    return {
        "person": left.viewing.person.username,
        "frame": left.frame,
        "unseen": left.unseen,
        "remark": left.viewing.remark,
        "when": left.viewing.left_at or left.viewing.heard_at,
    }


def _facts(request, clip: Clip, frame: int, timed: bool, stints: list[Stint]) -> dict:
    """What the page's script works from."""
    production = clip.card.production
    selects = clip.selects.filter(deleted=None).select_related("clip__card", "logger").prefetch_related("tags")
    strip = clip.filmstrip
    return {
        "clip": clip.id,
        "card": clip.card.name,
        "camera": clip.card.camera,
        "clock": {"offset": float(clip.card.clock_offset), "set": clip.card.clock_set},
        "name": clip.name,
        "frames": clip.frames,
        "frame": frame,
        "rate": [clip.rate_numerator, clip.rate_denominator],
        "drop": clip.drop,
        "start": clip.start_frame,
        "peakChannels": min(clip.channels, MOST_CHANNELS),
        "channelNames": clip.channel_names,
        "viewing": str(uuid.uuid4()),
        "person": request.user.username,
        "mayMark": access.may(request.user, production, roles.MARK),
        "proxy": proxying.playable(clip) is not None,
        "proxied": clip.watchable_frames,
        "filmstrip": strip and {**strip, "files": [_media_url(clip, name) for name in strip["files"]]},
        "peaks": _media_url(clip, proxying.PEAKS) if clip.has_peaks else None,
        "lanes": _media_url(clip, lanes.FILE) if clip.has_lanes else None,
        "selects": SelectSerializer(selects, many=True).data,
        "origins": {str(each): camera for each, camera in selects.exclude(carried_from=None).values_list(*_ORIGIN)},
        "tags": list(production.tags.values("name", "group", "key")),
        "notes": [_note(clip, at, note) for at, note in field_notes.on_clip(clip)] if timed else [],
        "habits": habits.of(request.user),
        "stints": HeldSerializer(stints, many=True).data,
        "holdsMore": next_to_watch.holds_more(request.user, clip),
        "api": {
            "clip": reverse("api-clips-detail", args=[clip.id]),
            "watched": reverse("api-clips-watched", args=[clip.id]),
            "stints": reverse("api-stints-list"),
            "secondLooks": reverse("api-second-looks-list"),
            "clock": reverse("api-cards-clock", args=[clip.card_id]),
            "clockBySound": reverse("api-cards-clock-by-sound", args=[clip.card_id]),
        },
        "next": reverse("next-unwatched") + f"?production={production.code}&after={clip.id}",
    }


def _note(clip: Clip, frame: int, note) -> dict:
    return {"frame": frame, "label": clip.label(frame), "text": note.text}


def _media_url(clip: Clip, name: str) -> str:
    return reverse("media", args=[clip.id, name])


def _neighbours(clip: Clip) -> dict:
    """The clips before and after on the same card."""
    ids = list(clip.card.clips.values_list("id", flat=True))
    at = ids.index(clip.id)
    return {"previous": ids[at - 1] if at else None, "next": ids[at + 1] if at + 1 < len(ids) else None}


@login_required
@refusing
def next_unwatched(request):
    """Go to the next frames to watch: of what the person holds, then of what nobody does; after the clip `after`, or
    after a `frame` of it."""
    production = current_production(request)
    after = request.GET.get("after", "")
    here = access.clips(request.user).filter(id=int(after)).first() if after.isdecimal() and len(after) < 12 else None
    frame = request.GET.get("frame", "")
    frame = int(frame) if frame.isascii() and frame.isdigit() and len(frame) < 12 else None
    stretch = next_to_watch.next_unwatched(production, request.user, here, frame)
    if stretch is None:
        if coverage.anything_unseen(production):
            said = f"What nobody has seen of {production.code} is held by others, or cannot be watched yet."
            messages.info(request, said)
            return redirect(f"{reverse('stints')}?production={production.code}")
        messages.info(request, f"Everything that can be watched in {production.code} has been seen.")
        return redirect("coverage")
    return redirect(f"{reverse('clip', args=[stretch.clip.id])}?frame={stretch.in_frame}")


@login_required
@refusing
def media(request, clip_id: int, name: str):
    """A proxy, a filmstrip sheet, the peaks or the lanes, for members of the clip's production only."""
    clip = get_object_or_404(access.clips(request.user).only("filmstrip"), id=clip_id)
    sheets = clip.filmstrip["files"] if clip.filmstrip else []
    if name not in (proxying.PROXY, proxying.PEAKS, lanes.FILE, *sheets) and not sectioning.is_so_far(name):
        raise NotHere("There is no such file of this clip.")
    return responses.media(request, proxying.media_folder(clip.id) / name)
