"""What every open page asks every few seconds."""

from dataclasses import asdict

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets
from rest_framework.response import Response

from review.api.base import own_production
from review.record import news


class ProgressSerializer(serializers.Serializer):
    card = serializers.IntegerField()
    kind = serializers.CharField()
    what = serializers.CharField()
    done = serializers.IntegerField(help_text="bytes for a check or a copy, frames for the others")
    total = serializers.IntegerField()
    left = serializers.FloatField(allow_null=True, help_text="seconds")


class NewsSerializer(serializers.Serializer):
    """Two answers that are the same mean that nothing is new. `happened` are the newest [id, about]."""

    happened = serializers.ListField(child=serializers.ListField())
    watching = serializers.IntegerField()
    jobs = serializers.IntegerField()
    running = ProgressSerializer(many=True, required=False)
    waiting = serializers.DictField(child=serializers.IntegerField(), required=False)


class NewsViewSet(viewsets.ViewSet):
    @extend_schema(
        parameters=[
            OpenApiParameter("production", str, required=True),
            OpenApiParameter("working", str, description="yes: how far the workers are, too"),
        ],
        responses=NewsSerializer,
    )
    def list(self, request):
        """Whether anything is new in a production since you last asked."""
        production = own_production(request.user, request.query_params.get("production", ""))
        answer = asdict(news.of(production))
        if request.query_params.get("working") == "yes":
            running, waiting = news.working(production)
            answer |= {"running": [asdict(each) for each in running], "waiting": waiting}
        return Response(answer, headers={"Cache-Control": "no-store"})
