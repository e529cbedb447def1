from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets
from rest_framework.response import Response

from review import coverage
from review.api.base import own_production


class CoverageRow(serializers.Serializer):
    """Seconds of footage and how they were seen; `people` are seconds watched by each."""

    name = serializers.CharField()
    clips = serializers.IntegerField()
    selects = serializers.IntegerField()
    shot = serializers.FloatField()
    watched = serializers.FloatField()
    skimmed = serializers.FloatField()
    unwatched = serializers.FloatField()
    people = serializers.DictField(child=serializers.FloatField())


class StretchRow(serializers.Serializer):
    clip = serializers.IntegerField(source="clip.id")
    card = serializers.CharField(source="clip.card.name")
    clip_name = serializers.CharField(source="clip.name")
    in_frame = serializers.IntegerField()
    out_frame = serializers.IntegerField()
    seconds = serializers.FloatField()


class CoverageSerializer(serializers.Serializer):
    production = serializers.CharField()
    total = CoverageRow()
    cards = CoverageRow(many=True)
    days = CoverageRow(many=True)
    cameras = CoverageRow(many=True)
    nobody_has_watched = StretchRow(many=True)


class CoverageViewSet(viewsets.ViewSet):
    @extend_schema(parameters=[OpenApiParameter("production", str, required=True)], responses=CoverageSerializer)
    def list(self, request):
        """What has been seen of a production, per card, day and camera, and the longest stretches nobody has seen."""
        production = own_production(request.user, request.query_params.get("production", ""))
        cards = coverage.by_card(production)
        return Response(
            {
                "production": production.code,
                "total": _row("all", coverage.total(cards.values())),
                "cards": [_row(card.name, part) for card, part in cards.items()],
                "days": [_row(str(day or "?"), part) for day, part in coverage.by_day(cards).items()],
                "cameras": [_row(camera, part) for camera, part in coverage.by_camera(cards).items()],
                "nobody_has_watched": StretchRow(coverage.unwatched(production)[:500], many=True).data,
            }
        )


def _row(name: str, part: coverage.Coverage) -> dict:
    return {
        "name": name,
        "clips": part.clips,
        "selects": part.selects,
        "shot": float(part.shot),
        "watched": float(part.watched),
        "skimmed": float(part.skimmed),
        "unwatched": float(part.unwatched),
        "people": {person: float(seconds) for person, seconds in part.people.items()},
    }
