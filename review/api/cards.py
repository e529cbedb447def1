from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review import access, copies, intake, shelf, wiping
from review.api.base import HouseViewSet, own_production
from review.models import Card, CardFile, Copy, Job


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
    card = serializers.CharField(source="card.name")
    clip = serializers.CharField(source="clip.name", default=None)
    copy = serializers.CharField(source="copy.medium.label", default=None)

    class Meta:
        model = Job
        fields = [
            "id",
            "kind",
            "card",
            "clip",
            "copy",
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
