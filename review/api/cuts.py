"""Cuts that came back from editing, what they use, and what must be restored for them."""

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet, own_production
from review.crew import access
from review.cuts.text import MOST_LINES
from review.desk import restoring, returned_cuts, usage
from review.models import Cut, CutEvent, Select
from review.responses import download
from review.timecode import Rate


class CutSerializer(serializers.ModelSerializer):
    production = serializers.CharField(source="production.code")
    rate = serializers.SerializerMethodField()
    given_by = serializers.CharField(source="given_by.username")
    events = serializers.IntegerField(source="events.count")

    class Meta:
        model = Cut
        fields = ("id", "production", "name", "file_name", "rate", "given_by", "given_at", "events", "remarks")

    def get_rate(self, cut) -> str:
        return str(Rate(cut.rate_numerator, cut.rate_denominator))


class CutEventSerializer(serializers.ModelSerializer):
    """Labels are as they were written, and empty where the line could not be read; frames [in_frame, out_frame) are the
    clip's. `nearest` is what else it may be; `chosen_by` is who said which clip it is, if somebody did."""

    nearest = serializers.JSONField(source="candidates")
    card = serializers.CharField(source="card.name", default=None)
    found_clip = serializers.CharField(source="clip.name", default=None)

    class Meta:
        model = CutEvent
        fields = (
            "number",
            "line",
            "reel",
            "clip_name",
            "channels",
            "edit",
            "speed",
            "source_in",
            "source_out",
            "record_in",
            "record_out",
            "sure",
            "why",
            "chosen_by",
            "card",
            "clip",
            "found_clip",
            "in_frame",
            "out_frame",
            "nearest",
        )


class CutForm(serializers.Serializer):
    """`text` is the list as it is in the file; `rate` is what it counts in, else the production's."""

    production = serializers.CharField(max_length=4)
    text = serializers.CharField(trim_whitespace=False)
    file_name = serializers.CharField(max_length=255, default="cut.edl")
    name = serializers.CharField(max_length=200, allow_blank=True, default="")
    rate = serializers.CharField(max_length=20, allow_blank=True, default="")


class AgainForm(serializers.Serializer):
    rate = serializers.CharField(max_length=20, allow_blank=True, default="")


class ChooseForm(serializers.Serializer):
    """`line` of the file that the event stands in; `clip` null leaves it to the list again."""

    line = serializers.IntegerField(min_value=1, max_value=MOST_LINES)
    clip = serializers.IntegerField(allow_null=True, min_value=1, max_value=2**62)


class CardUseRow(serializers.Serializer):
    """Seconds of a card's footage, and of these in the cut; frames used twice count once."""

    card = serializers.CharField(source="card.name")
    shot = serializers.FloatField()
    used = serializers.FloatField()
    percent = serializers.FloatField(source="share")
    clips = serializers.IntegerField()
    clips_used = serializers.IntegerField()
    events = serializers.IntegerField()
    likely = serializers.IntegerField()


class MadeItSerializer(serializers.Serializer):
    selects = serializers.ListField(child=serializers.UUIDField())


class CutViewSet(HouseViewSet):
    """Returned cuts: filter by `production` (code)."""

    visible = access.cuts
    serializer_class = CutSerializer
    narrow = {"production": "production__code"}

    def get_queryset(self):
        return super().get_queryset().select_related("production", "given_by").defer("content")

    @extend_schema(request=CutForm, responses={201: CutSerializer})
    def create(self, request):
        """Take in a CMX3600 list and look for its events."""
        given = self.given(CutForm)
        production = own_production(request.user, given["production"])
        made = returned_cuts.take_in(
            request.user,
            production,
            given["file_name"],
            given["text"].encode(),
            name=given["name"],
            rate=returned_cuts.read_rate(given["rate"]),
        )
        return Response(self.show(made), status.HTTP_201_CREATED)

    def destroy(self, request, **_):
        """Forget a cut, and the marks that it made on selects."""
        returned_cuts.forget(request.user, self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)

    @extend_schema(request=AgainForm)
    @action(detail=True, methods=["post"])
    def again(self, request, **_):
        """Look for the events once more: cards may have come since."""
        rate = returned_cuts.read_rate(self.given(AgainForm)["rate"])
        return Response(self.show(returned_cuts.look_again(request.user, self.get_object(), rate)))

    @extend_schema(request=ChooseForm, responses=CutEventSerializer)
    @action(detail=True, methods=["post"])
    def choose(self, request, **_):
        """Say which clip an event is of, of those that hold its timecode."""
        given = self.given(ChooseForm)
        event = returned_cuts.choose(request.user, self.get_object(), given["line"], given["clip"])
        return Response(CutEventSerializer(event).data)

    @extend_schema(
        parameters=[OpenApiParameter("sure", str, enum=CutEvent.Sure.values)], responses=CutEventSerializer(many=True)
    )
    @action(detail=True)
    def events(self, request, **_):
        """What each event uses, and how sure that is."""
        events = self.get_object().events.select_related("card", "clip")
        if sure := request.query_params.get("sure", ""):
            events = events.filter(sure=sure)
        return self.get_paginated_response(CutEventSerializer(self.paginate_queryset(events), many=True).data)

    @extend_schema(
        parameters=[OpenApiParameter("handles", str, description="seconds on each side")],
        responses={(200, "text/csv"): OpenApiTypes.STR},
    )
    @action(detail=True)
    def restore(self, request, **_):
        """The files that must come back for the cut, as CSV: a row for each."""
        cut = self.get_object()
        handles = restoring.parse_handles(request.query_params.get("handles", ""))
        return download(restoring.csv_of(restoring.restore_list(cut.production, cut, handles)))

    @extend_schema(responses=CardUseRow(many=True))
    @action(detail=True, pagination_class=None)
    def usage(self, request, **_):
        """How much of each card is in the cut; cards that it does not use come with 0."""
        cut = self.get_object()
        return Response(CardUseRow(usage.by_card(cut.production, cut), many=True).data)

    @extend_schema(responses=MadeItSerializer)
    @action(detail=True)
    def selects(self, request, **_):
        """The selects that made the cut: those that it uses a frame of."""
        cut = self.get_object()
        of_production = Select.objects.filter(clip__card__production=cut.production, deleted=None)
        made_it = usage.only_in_cut(of_production, [cut]).values_list("id", flat=True)
        return Response({"selects": [str(each) for each in made_it]})
