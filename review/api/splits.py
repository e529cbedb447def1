from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review import roles
from review.api.base import HouseViewSet, own_production
from review.crew import access
from review.models import Split
from review.team import handing_out, on_record, planning
from review.team.balance import balance, weigh


class PieceRow(serializers.Serializer):
    """Frames [in_frame, out_frame) of a clip for a logger, or for nobody. `seconds` are those still to be watched and,
    once the split is accepted or discarded, all of them; `left_out` says why a piece was not handed out."""

    id = serializers.IntegerField(source="piece.id")
    clip = serializers.IntegerField(source="piece.clip_id")
    card = serializers.CharField(source="piece.clip.card.name")
    clip_name = serializers.CharField(source="piece.clip.name")
    in_frame = serializers.IntegerField(source="piece.in_frame")
    out_frame = serializers.IntegerField(source="piece.out_frame")
    logger = serializers.CharField(source="piece.logger.username", default=None, allow_null=True)
    second = serializers.BooleanField(source="piece.second")
    seconds = serializers.FloatField()
    story = serializers.CharField(default=None, allow_null=True, help_text="while it is proposed")
    holder = serializers.CharField(default=None, allow_null=True, help_text="who holds it now, while it is proposed")
    left_out = serializers.CharField(default="")


class ShareRow(serializers.Serializer):
    """Seconds that a logger holds and is given; `off` is per cent above an even share (below: less than 0), `is_far`
    whether that is to be pointed out. Once the split is accepted or discarded, what is not on record is null."""

    logger = serializers.CharField(source="person.username")
    hours = serializers.FloatField()
    held = serializers.FloatField(default=None, allow_null=True)
    given = serializers.FloatField()
    pieces = serializers.IntegerField()
    stories = serializers.IntegerField(default=None, allow_null=True)
    days = serializers.IntegerField()
    off = serializers.FloatField(default=None, allow_null=True)
    is_far = serializers.BooleanField(default=None, allow_null=True)


class SplitSerializer(serializers.ModelSerializer):
    production = serializers.CharField(source="production.code")
    made_by = serializers.CharField(source="made_by.username")
    state = serializers.CharField(help_text="proposed, accepted or discarded")
    pieces = serializers.SerializerMethodField()
    shares = serializers.SerializerMethodField()
    even = serializers.SerializerMethodField(help_text="seconds to each hour, if all were even; while it is proposed")
    nobodys = serializers.SerializerMethodField(help_text="seconds that nobody is given")

    class Meta:
        model = Split
        fields = (
            *("id", "production", "made_by", "created", "state", "settled_at", "version", "wanted", "hours"),
            *("pieces", "shares", "even", "nobodys"),
        )

    def to_representation(self, split):
        if split.state == Split.State.PROPOSED:
            self._pieces = weigh(split)
            told = balance(split, self._pieces)
            self._shares, self._even, self._nobodys = told.shares, told.even, told.nobodys
        else:
            self._pieces, self._even = on_record.pieces(split), None
            given = on_record.given(split, self._pieces)
            self._shares = [each for each in given if each.person]
            self._nobodys = float(sum(each.given for each in given if not each.person))
        return super().to_representation(split)

    @extend_schema_field(PieceRow(many=True))
    def get_pieces(self, split):
        return PieceRow(self._pieces, many=True).data

    @extend_schema_field(ShareRow(many=True))
    def get_shares(self, split):
        return ShareRow(self._shares, many=True).data

    def get_even(self, split) -> float | None:
        return self._even

    def get_nobodys(self, split) -> float:
        return self._nobodys


class SplitRow(serializers.ModelSerializer):
    production = serializers.CharField(source="production.code")
    made_by = serializers.CharField(source="made_by.username")
    state = serializers.CharField(help_text="proposed, accepted or discarded")

    class Meta:
        model = Split
        fields = ("id", "production", "made_by", "created", "state", "settled_at", "version")


class WantedForm(serializers.Serializer):
    """Which footage: any of each kind, and all kinds that are given. Only what nobody saw and nobody holds is split."""

    cards = serializers.ListField(child=serializers.CharField(max_length=255), default=list, help_text="names")
    days = serializers.ListField(child=serializers.CharField(max_length=10), default=list, help_text="2026-11-12")
    cameras = serializers.ListField(child=serializers.CharField(max_length=1), default=list)
    tags = serializers.ListField(child=serializers.CharField(max_length=60), default=list, help_text="of field notes")
    urgent_days = serializers.ListField(child=serializers.CharField(max_length=10), default=list)
    urgent_tags = serializers.ListField(child=serializers.CharField(max_length=60), default=list)
    seconds = serializers.BooleanField(default=False, help_text="second looks that are wanted, too")
    again = serializers.BooleanField(default=False, help_text="deal out anew what is held and not begun")
    begun = serializers.BooleanField(default=False, help_text="with again: what those without hours have begun, too")
    minutes_an_hour = serializers.FloatField(default=60, help_text="of footage, for each hour; 0 for all of it")


class SplitForm(serializers.Serializer):
    production = serializers.CharField(max_length=4)
    wanted = WantedForm(default=dict)
    hours = serializers.DictField(child=serializers.FloatField(), help_text="of each logger, by name")


class MovesForm(serializers.Serializer):
    version = serializers.IntegerField(min_value=0)
    moves = serializers.DictField(
        child=serializers.CharField(max_length=150, allow_null=True), help_text="piece id: name, or null for nobody"
    )

    def validate_moves(self, moves):
        if not all(key.isascii() and key.isdigit() and len(key) < 19 for key in moves):
            raise serializers.ValidationError("A piece is named by its number.")
        return {int(key): name for key, name in moves.items()}


class VersionForm(serializers.Serializer):
    version = serializers.IntegerField(min_value=0)


class SplitViewSet(HouseViewSet):
    """Proposals of who watches what: filter by `production` (code) and `state`."""

    visible = access.splits
    serializer_class = SplitSerializer
    narrow = {"production": "production__code", "state": "state"}

    def get_queryset(self):
        return super().get_queryset().select_related("production", "made_by")

    @extend_schema(responses=SplitRow(many=True))
    def list(self, request):
        rows = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(SplitRow(rows, many=True).data)

    @extend_schema(request=SplitForm, responses={201: SplitSerializer})
    def create(self, request):
        """Propose a split. Nobody holds any of it until it is accepted."""
        given = self.given(SplitForm)
        production = own_production(request.user, given["production"])
        access.require(request.user, production, roles.HAND_OUT)
        made = planning.propose(request.user, production, given["wanted"], given["hours"])
        return Response(self.show(made), status.HTTP_201_CREATED)

    @extend_schema(request=MovesForm, responses=SplitSerializer)
    def update(self, request, **_):
        """Give pieces to others. 409 when somebody moved some since `version`."""
        split = self.get_object()
        access.require(request.user, split.production, roles.HAND_OUT)
        given = self.given(MovesForm)
        return Response(self.show(planning.move(request.user, split, given["version"], given["moves"])))

    @extend_schema(request=VersionForm, responses=SplitSerializer)
    @action(detail=True, methods=["post"])
    def accept(self, request, **_):
        """Make the pieces stints, but for those that somebody began or took meanwhile: their `left_out` says so."""
        split = self.get_object()
        access.require(request.user, split.production, roles.HAND_OUT)
        return Response(self.show(handing_out.accept(request.user, split, self.given(VersionForm)["version"])))

    @extend_schema(request=None, responses=SplitSerializer)
    @action(detail=True, methods=["post"])
    def discard(self, request, **_):
        """Discard the proposal: nobody is given anything."""
        return Response(self.show(planning.discard(request.user, self.get_object())))
