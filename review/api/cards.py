from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet, own_production
from review.crew import access
from review.custody import copies, intake, shelf, wiping
from review.marking import card_clocks
from review.models import Card, CardFile, Clip, Copy, Job
from review.refusals import NotFound, Refusal


class WipeSerializer(serializers.Serializer):
    """May the card be wiped, by its production's own rule? People decide; this only counts copies."""

    may = serializers.BooleanField()
    line = serializers.CharField()
    reasons = serializers.ListField(child=serializers.CharField())


class CardSerializer(serializers.ModelSerializer):
    production = serializers.CharField(source="production.code")
    proof_words = serializers.CharField(source="get_proof_display")
    accepted_by = serializers.CharField(source="accepted_by.username", default=None)
    wipe = serializers.SerializerMethodField()

    class Meta:
        model = Card
        fields = [
            "id",
            "production",
            "name",
            "reel",
            "shoot_date",
            "camera",
            "number",
            "state",
            "proof",
            "proof_words",
            "layout",
            "findings",
            "manifests",
            "total_bytes",
            "file_count",
            "found_at",
            "checked_at",
            "accepted_by",
            "accepted_at",
            "accepted_reason",
            "wipe",
        ]

    @extend_schema_field(WipeSerializer)
    def get_wipe(self, card: Card) -> dict:
        return WipeSerializer(wiping.answer(card)).data


class CardFileSerializer(serializers.ModelSerializer):
    class Meta:
        model = CardFile
        fields = ("path", "size", "modified", "hashes", "proven", "here")


class CopySerializer(serializers.ModelSerializer):
    medium = serializers.CharField(source="medium.label")
    kind = serializers.CharField(source="medium.kind")
    place = serializers.CharField(source="medium.place")
    elsewhere = serializers.BooleanField(source="medium.elsewhere")
    due = serializers.SerializerMethodField()

    class Meta:
        model = Copy
        fields = [
            "id",
            "folder",
            "medium",
            "kind",
            "place",
            "elsewhere",
            "is_original",
            "here",
            "state",
            "proven_at",
            "checked_at",
            "due",
            "findings",
        ]

    @extend_schema_field(serializers.DateField(allow_null=True))
    def get_due(self, copy: Copy):
        return shelf.next_check(copy)


class JobSerializer(serializers.ModelSerializer):
    card = serializers.CharField(source="card.name", default=None)
    clip = serializers.CharField(source="clip.name", default=None)
    copy = serializers.CharField(source="copy.medium.label", default=None)
    list = serializers.CharField(source="stringout.list.name", default=None)

    class Meta:
        model = Job
        fields = [
            "id",
            "kind",
            "card",
            "clip",
            "copy",
            "list",
            "part",
            "state",
            "why",
            "attempts",
            "done",
            "total",
            "resumed",
            "error",
            "created",
            "started_at",
            "sent_at",
            "heartbeat",
            "finished_at",
        ]


class NewCard(serializers.Serializer):
    production = serializers.CharField(max_length=4)
    folder = serializers.CharField(max_length=4096)


class NewCopy(serializers.Serializer):
    folder = serializers.CharField(max_length=4096)
    is_original = serializers.BooleanField(default=False)


class ClapForm(serializers.Serializer):
    """Frame `frame` of `clip`, on this card, is the moment of `other_frame` of the clip `other`."""

    clip = serializers.IntegerField(min_value=1, max_value=2**62)
    frame = serializers.IntegerField(min_value=0, max_value=2**31)
    other = serializers.IntegerField(min_value=1, max_value=2**62)
    other_frame = serializers.IntegerField(min_value=0, max_value=2**31)


class ClockSerializer(serializers.Serializer):
    """Seconds to add to the card's timecode."""

    offset = serializers.FloatField()
    set = serializers.BooleanField()


class SuggestionSerializer(serializers.Serializer):
    """Both are null where the sound does not tell; `sureness` is from 0 to 1."""

    offset = serializers.FloatField(allow_null=True)
    sureness = serializers.FloatField(allow_null=True)


class Acceptance(serializers.Serializer):
    reason = serializers.CharField(max_length=2000)


class CardViewSet(HouseViewSet):
    """Camera cards: filter by `production` (code), `state`, `camera`, `date` and `name`."""

    visible = access.cards
    serializer_class = CardSerializer
    narrow = {
        "production": "production__code",
        "state": "state",
        "camera": "camera",
        "date": "shoot_date",
        "name": "name",
    }

    def get_queryset(self):
        return super().get_queryset().select_related("production", "accepted_by").prefetch_related("copies__medium")

    @extend_schema(request=NewCard, responses={201: CardSerializer})
    def create(self, request):
        """Take in a folder that lies under a card root, and have it checked."""
        given = self.given(NewCard)
        production = own_production(request.user, given["production"])
        card = intake.take_in_by(request.user, given["folder"], production)
        return Response(self.show(card), status.HTTP_201_CREATED)

    @extend_schema(request=None, responses={202: JobSerializer})
    @action(detail=True, methods=["post"])
    def check(self, request, **_):
        """Have the card checked again. Reads only; the answer is the job."""
        job = intake.check_by(request.user, self.get_object())
        return Response(JobSerializer(job).data, status.HTTP_202_ACCEPTED)

    @extend_schema(request=Acceptance, responses=CardSerializer)
    @action(detail=True, methods=["post"])
    def accept(self, request, **_):
        """Trust a held card, for a reason that stays on record."""
        card = self.get_object()
        intake.accept(card, request.user, self.given(Acceptance)["reason"])
        return Response(self.show(card))

    @extend_schema(responses=CardFileSerializer(many=True))
    @action(detail=True)
    def files(self, request, **_):
        """The card's files with their hashes, as last checked."""
        rows = self.paginate_queryset(self.get_object().files.all())
        return self.get_paginated_response(CardFileSerializer(rows, many=True).data)

    @extend_schema(methods=["get"], responses=CopySerializer(many=True))
    @extend_schema(methods=["post"], request=NewCopy, responses={201: CopySerializer})
    @action(detail=True, methods=["get", "post"], pagination_class=None)
    def copies(self, request, **_):
        """The card's copies. POST: a folder under a card root is one more, or the camera's own card in a reader."""
        card = self.get_object()
        if request.method == "POST":
            given = self.given(NewCopy)
            copy = copies.add_by(request.user, card, given["folder"], is_original=given["is_original"])
            return Response(CopySerializer(copy).data, status.HTTP_201_CREATED)
        rows = card.copies.select_related("medium", "card")
        return Response(CopySerializer(rows, many=True).data)

    @extend_schema(methods=["post"], request=ClapForm, responses=ClockSerializer)
    @extend_schema(methods=["delete"], responses=ClockSerializer)
    @action(detail=True, methods=["post", "delete"])
    def clock(self, request, **_):
        """Set the card's clock by a clap that another card saw too; DELETE believes its own timecode again."""
        card = self.get_object()
        if request.method == "DELETE":
            card_clocks.clear(request.user, card)
            return Response({"offset": 0.0, "set": False})
        given = self.given(ClapForm)
        clip, other = self._clip(request, given["clip"]), self._clip(request, given["other"])
        if clip.card_id != card.id:
            raise Refusal(f"{clip.name} is not a clip of {card.name}.", "clip")
        offset = card_clocks.set_by_clap(request.user, clip, given["frame"], other, given["other_frame"])
        return Response({"offset": float(offset), "set": True})

    @extend_schema(
        parameters=[OpenApiParameter("clip", int, required=True), OpenApiParameter("other", int, required=True)],
        responses=SuggestionSerializer,
    )
    @action(detail=True, url_path="clock-by-sound")
    def clock_by_sound(self, request, **_):
        """By how much the card's clock is off, by the sound of a clip of it and of another card's. Changes nothing."""
        card = self.get_object()
        clip, other = (self._clip(request, request.query_params.get(name, "")) for name in ("clip", "other"))
        if clip.card_id != card.id:
            raise Refusal(f"{clip.name} is not a clip of {card.name}.", "clip")
        found = card_clocks.suggest(request.user, clip, other)
        return Response({"offset": found and float(found[0]), "sureness": found and found[1]})

    def _clip(self, request, number) -> Clip:
        text = str(number)
        whole = int(text) if text.isascii() and text.isdigit() and len(text) < 19 else 0
        clip = access.clips(request.user).select_related("card__production").filter(id=whole).first()
        if clip is None:
            raise NotFound("There is no such clip, or it is in a production you are not a member of.", "clip")
        return clip


class JobViewSet(HouseViewSet):
    """What workers have been asked to do: filter by `production` (code), `state`, `kind`, `card` (name) and `clip`."""

    visible = access.jobs
    serializer_class = JobSerializer
    narrow = {
        "production": "card__production__code",
        "state": "state",
        "kind": "kind",
        "card": "card__name",
        "clip": "clip",
    }

    def get_queryset(self):
        return super().get_queryset().select_related("card", "clip", "copy__medium")
