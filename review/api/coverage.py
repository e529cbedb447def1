from fractions import Fraction

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import own_production
from review.api.paging import Pages
from review.record import coverage
from review.responses import download
from review.seeing import coverage_tables, unwatched
from review.seeing.coverage_asked import BY, SORTS, STATES, STRETCHES, Asked


class ExactRow(serializers.Serializer):
    """Frames at one rate, and the same as timecode lengths; `drop` tells how those are counted."""

    rate = serializers.CharField()
    drop = serializers.BooleanField()
    frames = serializers.DictField(child=serializers.IntegerField())
    lengths = serializers.DictField(child=serializers.CharField())


class CoverageRow(serializers.Serializer):
    """Seconds of footage and how they were seen: `people` watched and `skimmers` skimmed (and did not watch) so many
    each; `asked` are in second looks, of which two people saw `twice`. `exact` has the frames, apart for each rate."""

    name = serializers.CharField()
    clips = serializers.IntegerField()
    selects = serializers.IntegerField()
    shot = serializers.FloatField()
    watched = serializers.FloatField()
    skimmed = serializers.FloatField()
    unwatched = serializers.FloatField()
    asked = serializers.FloatField()
    twice = serializers.FloatField()
    people = serializers.DictField(child=serializers.FloatField())
    skimmers = serializers.DictField(child=serializers.FloatField())
    exact = ExactRow(many=True)


class StretchRow(serializers.Serializer):
    clip = serializers.IntegerField()
    card = serializers.CharField()
    clip_name = serializers.CharField()
    in_frame = serializers.IntegerField()
    out_frame = serializers.IntegerField()
    source_in = serializers.CharField()
    source_out = serializers.CharField()
    seconds = serializers.FloatField()
    length = serializers.CharField()
    skimmed = serializers.BooleanField()
    skimmed_by = serializers.ListField(child=serializers.CharField())


class CoverageSerializer(serializers.Serializer):
    production = serializers.CharField()
    total = CoverageRow()
    cards = CoverageRow(many=True)
    days = CoverageRow(many=True)
    cameras = CoverageRow(many=True)
    rows = CoverageRow(many=True, required=False, help_text="grouped and sorted as asked for")
    nobody_has_watched = StretchRow(many=True, help_text="the 500 longest; /unwatched/ has all")


ASKED = [
    OpenApiParameter("production", str, required=True),
    OpenApiParameter("by", str, enum=BY),
    OpenApiParameter("sort", str, enum=[*SORTS, *(f"-{name}" for name in SORTS)]),
    OpenApiParameter("day", str, description="2026-11-12, or none"),
    OpenApiParameter("camera", str, description="a letter, or ?"),
    OpenApiParameter("card", str),
    OpenApiParameter("story", str, description="a tag of field notes and selects, or none"),
    OpenApiParameter("person", str, description="only what this person watched and skimmed is counted as seen"),
    OpenApiParameter("state", str, enum=list(STATES), description="of clips; with a person, as this person saw them"),
    OpenApiParameter("stretches", str, enum=list(STRETCHES)),
]


class CoverageViewSet(viewsets.ViewSet):
    pagination_class = Pages

    @extend_schema(parameters=ASKED, responses=CoverageSerializer)
    def list(self, request):
        """What has been seen of a production, per card, day and camera, and the longest stretches nobody has seen. With
        `by` also `rows`, per card, camera, day, story or logger. The other parameters narrow all of it."""
        production, asked = self._asked()
        table = coverage_tables.table(production, asked.grouped_by("card"))
        by_card = {row.card: row.coverage for row in table.rows}
        answer = {
            "production": production.code,
            "total": _row("all", table.total),
            "cards": [_row(card.name, part) for card, part in by_card.items()],
            "days": [_row(str(day or "?"), part) for day, part in coverage.by_day(by_card).items()],
            "cameras": [_row(camera, part) for camera, part in coverage.by_camera(by_card).items()],
            "nobody_has_watched": _stretches(unwatched.Stretches(production, asked)[:500]),
        }
        if "by" in request.query_params:
            wanted = table if asked == table.asked else coverage_tables.table(production, asked)
            answer["rows"] = [_row(row.name, row.coverage) for row in wanted.rows]
        return Response(answer)

    @extend_schema(parameters=ASKED, responses=StretchRow(many=True))
    @action(detail=False)
    def unwatched(self, request):
        """The stretches that nobody has watched, longest first; `stretches` takes only one kind of them."""
        production, asked = self._asked()
        pages = Pages()
        rows = pages.paginate_queryset(unwatched.Stretches(production, asked), request, self)
        return pages.get_paginated_response(_stretches(rows))

    @extend_schema(
        parameters=[*ASKED, OpenApiParameter("what", str, enum=["rows", "unwatched"])],
        responses={(200, "text/csv"): OpenApiTypes.BINARY},
    )
    @action(detail=False)
    def export(self, request) -> HttpResponse:
        """The rows, or the stretches that nobody has watched, as CSV."""
        production, asked = self._asked()
        if request.query_params.get("what") == "unwatched":
            return download(unwatched.as_csv(production, asked))
        return download(coverage_tables.as_csv(production, coverage_tables.table(production, asked)))

    def _asked(self):
        query = self.request.query_params
        return own_production(self.request.user, query.get("production", "")), Asked.read(query)


def _row(name: str, part: coverage.Coverage) -> dict:
    return {
        "name": name,
        "clips": part.clips,
        "selects": part.selects,
        **{what: float(getattr(part, what)) for what in coverage_tables.COUNTS},
        "people": _floats(part.people),
        "skimmers": _floats(part.skimmers),
        "exact": [
            {
                "rate": str(base.rate),
                "drop": base.drop,
                "frames": {what: getattr(sums, what) for what in coverage_tables.COUNTS},
                "lengths": {what: coverage_tables.length(base, getattr(sums, what)) for what in coverage_tables.COUNTS},
            }
            for base, sums in part.bases.items()
        ],
    }


def _floats(people: dict[str, Fraction]) -> dict[str, float]:
    return {name: float(seconds) for name, seconds in people.items()}


def _stretches(stretches) -> list[dict]:
    """As StretchRow says; written out, because there are some hundred of them."""
    return [
        {
            "clip": each.clip.id,
            "card": each.clip.card.name,
            "clip_name": each.clip.name,
            "in_frame": each.in_frame,
            "out_frame": each.out_frame,
            "source_in": each.clip.label(each.in_frame),
            "source_out": each.clip.label(each.out_frame),
            "seconds": float(each.seconds),
            "length": coverage_tables.length(each.clip.timebase, each.frames),
            "skimmed": each.skimmed,
            "skimmed_by": each.skimmed_by,
        }
        for each in unwatched.with_skimmers(stretches)
    ]
