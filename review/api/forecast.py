from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets
from rest_framework.response import Response

from review.api.base import own_production
from review.seeing import forecasting
from review.seeing.forecasting import Answer, Question


class HandSerializer(serializers.Serializer):
    name = serializers.CharField()
    hours_on_record = serializers.FloatField()
    hours_a_day = serializers.FloatField(help_text="on average, days off counted in")
    pace = serializers.FloatField(help_text="hours of footage nobody had seen, in an hour of work")


class ForecastSerializer(serializers.Serializer):
    """Footage in hours by kind (a camera's letter, sound, or ?), work in days of the team's. The dates are null without
    enough on record, or when it would take more than three years."""

    production = serializers.CharField()
    today = serializers.DateField()
    hours_on_record = serializers.FloatField()
    too_little = serializers.BooleanField()
    left = serializers.DictField(child=serializers.FloatField())
    second_looks = serializers.DictField(child=serializers.FloatField())
    shot_a_day = serializers.DictField(child=serializers.FloatField())
    shoot_until = serializers.DateField(allow_null=True)
    earliest = serializers.DateField(allow_null=True)
    likely = serializers.DateField(allow_null=True)
    latest = serializers.DateField(allow_null=True)
    stopped = serializers.ListField(
        child=serializers.CharField(), help_text="on record, but they cannot sign in any more, or have no role left"
    )
    people = serializers.IntegerField(allow_null=True)
    people_needed = serializers.IntegerField(allow_null=True)
    work = serializers.DictField(child=serializers.FloatField())
    paces = serializers.DictField(child=serializers.FloatField())
    loggers = HandSerializer(many=True)


class ForecastViewSet(viewsets.ViewSet):
    @extend_schema(
        parameters=[
            OpenApiParameter("production", str, required=True),
            OpenApiParameter("loggers", int, description="what if there were so many more?"),
            OpenApiParameter("hours", float, description="what if everybody worked so many hours a day more?"),
            OpenApiParameter("skim", str, description="what if these were skimmed? camera letters, with commas"),
            OpenApiParameter("without", str, description="what if these were not there? sign-in names, with commas"),
            OpenApiParameter("again", str, enum=["yes"], description="what was only skimmed is to be watched, too"),
            OpenApiParameter("by", str, description="a date: how many people would it take?"),
            OpenApiParameter("people", int, description="take so many people instead of those on record"),
            OpenApiParameter("week", float, description="hours that each of them works in a week"),
            OpenApiParameter("speed", float, description="hours of footage that they see in an hour of work"),
        ],
        responses=ForecastSerializer,
    )
    def list(self, request):
        """When everything will have been seen, and what that is worked out from."""
        query = request.query_params
        production = own_production(request.user, query.get("production", ""))
        answer = forecasting.answer(production, Question.read(query))
        return Response({"production": production.code, **_told(answer)})


def _told(answer: Answer) -> dict:
    told = answer.told
    return {
        "today": answer.today,
        "hours_on_record": answer.hours_on_record,
        "too_little": told is None,
        "left": answer.left,
        "second_looks": answer.second,
        "shot_a_day": answer.coming.a_day,
        "shoot_until": answer.coming.until,
        "earliest": told and told.early,
        "likely": told and told.likely,
        "latest": told and told.late,
        "stopped": answer.stopped,
        "people": told and told.people,
        "people_needed": answer.needed,
        "work": {kind: days for kind, days in told.work.items() if days != float("inf")} if told else {},
        "paces": dict(told.team.paces) if told else {},
        "loggers": [
            {
                "name": hand.name,
                "hours_on_record": hand.on_record.hours,
                "hours_a_day": hand.hours,
                "pace": hand.on_record.pace,
            }
            for hand in (told.team.hands if told and not answer.question.assumed else ())
        ],
    }
