"""What the day map draws."""

import re
from datetime import date

from django.http import HttpResponse
from django.utils.http import quote_etag
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets

from review.api.base import own_production
from review.refusals import NotFound, Refusal
from review.seeing import day_map

_TIME = re.compile(r"-?\d{1,9}")


class DaySerializer(serializers.Serializer):
    """A shoot day, its times in milliseconds since its midnight by the production's clock.

    Each of `clips` is [id, name, place in `cards`, place in `cameras`, start, end, frames, watched frames, skimmed
    frames, selects, watched ranges, skimmed ranges, first frames of selects]; a range is two numbers, in and out.
    Each of `notes` is [time, camera or '', text]; `still` is when nothing rolled.
    """

    day = serializers.DateField()
    cameras = serializers.ListField(child=serializers.CharField())
    cards = serializers.ListField(child=serializers.CharField())
    clips = serializers.ListField(child=serializers.ListField())
    notes = serializers.ListField(child=serializers.ListField())
    still = serializers.ListField(child=serializers.ListField(child=serializers.IntegerField()))


class DayViewSet(viewsets.ViewSet):
    lookup_field = "day"
    lookup_value_regex = r"[^/.\0]+"

    @extend_schema(
        parameters=[
            OpenApiParameter("day", str, "path", description="2026-11-12"),
            OpenApiParameter("production", str, required=True),
            OpenApiParameter("level", int, description="0, 4 or 60: seconds that ranges may be rounded to"),
            OpenApiParameter("since", int, description="with `until`: only what rolled between these times (ms)"),
            OpenApiParameter("until", int),
        ],
        responses=DaySerializer,
    )
    def retrieve(self, request, day: str):
        """What rolled on a day, and how it was seen. With the ETag of an earlier answer it costs next to nothing."""
        production = own_production(request.user, request.query_params.get("production", ""))
        etag = quote_etag(day_map.version(production))
        headers = {"ETag": etag, "Cache-Control": "private, no-cache"}
        if request.headers.get("If-None-Match") == etag:
            return HttpResponse(status=304, headers=headers)
        level = _level(request.query_params.get("level", "0"))
        found = day_map.answer(production, _date(day), level, _within(request))
        return HttpResponse(found, "application/json", headers=headers)


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise NotFound(f"{text[:20]!a} is no day; write it as 2026-11-12.", "day") from None


def _level(text: str) -> int:
    if text not in {str(each) for each in day_map.LEVELS}:
        raise Refusal(f"{text[:20]!a} is no level; those are 0, 4 and 60 seconds.", "level")
    return int(text)


def _within(request) -> tuple[int, int] | None:
    given = [request.query_params.get(name, "") for name in ("since", "until")]
    if not any(given):
        return None
    if not all(_TIME.fullmatch(each) and each.isascii() for each in given):
        raise Refusal("Give both `since` and `until`, in milliseconds of the day.", "since")
    return int(given[0]), int(given[1])
