from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet
from review.crew import access
from review.models import SecondLook
from review.refusals import NotFound
from review.team import agreement, second_looks


class SecondLookSerializer(serializers.ModelSerializer):
    """Frames [in_frame, out_frame) of the clip, of which two people or more have watched `seen_frames`."""

    card = serializers.CharField(source="clip.card.name")
    clip_name = serializers.CharField(source="clip.name")
    asked_by = serializers.CharField(source="asked_by.username")

    class Meta:
        model = SecondLook
        fields = (
            *("id", "clip", "card", "clip_name", "in_frame", "out_frame", "why"),
            *("asked_by", "asked_at", "ended_at", "seen_frames"),
        )


class SecondLookForm(serializers.Serializer):
    """With no `in_frame` from the clip's beginning, with no `out_frame` to its end."""

    clip = serializers.IntegerField(min_value=1, max_value=2**62)
    in_frame = serializers.IntegerField(min_value=0, max_value=2**31, default=0)
    out_frame = serializers.IntegerField(min_value=1, max_value=2**31, required=False)
    why = serializers.CharField(max_length=second_looks.LONGEST_WHY, allow_blank=True, default="")


class DifferenceSerializer(serializers.Serializer):
    marked_by = serializers.CharField()
    in_frame = serializers.IntegerField()
    out_frame = serializers.IntegerField()


class AgreementSerializer(serializers.Serializer):
    """Two people who both watched `both_watched` frames: `share` is frames that both marked by frames that either
    marked, null when neither marked any; `finds` how many selects each has there, of which `same` are in both."""

    names = serializers.ListField(child=serializers.CharField())
    share = serializers.FloatField(allow_null=True)
    both_watched = serializers.IntegerField()
    both_marked = serializers.IntegerField()
    either_marked = serializers.IntegerField()
    finds = serializers.ListField(child=serializers.IntegerField())
    same = serializers.IntegerField()
    differences = DifferenceSerializer(many=True)


class SecondLookViewSet(HouseViewSet):
    """Footage that two pairs of eyes are asked to see: filter by `production`, `card`, `clip`, `wanted` (yes)."""

    visible = access.second_looks
    serializer_class = SecondLookSerializer
    narrow = {"production": "clip__card__production__code", "card": "clip__card__name", "clip": "clip"}

    def get_queryset(self):
        return super().get_queryset().select_related("clip__card__production", "asked_by").order_by("-id")

    def filter_queryset(self, rows):
        rows = super().filter_queryset(rows)
        return rows.filter(ended_at=None) if self.request.query_params.get("wanted") == "yes" else rows

    @extend_schema(request=SecondLookForm, responses={201: SecondLookSerializer})
    def create(self, request):
        """Ask for a second look."""
        given = self.given(SecondLookForm)
        clip = access.clips(request.user).select_related("card__production").filter(id=given["clip"]).first()
        if clip is None:
            raise NotFound("There is no such clip, or it is in a production you are not a member of.", "clip")
        look = second_looks.ask(request.user, clip, given["in_frame"], given.get("out_frame"), given["why"])
        return Response(self.show(look), status.HTTP_201_CREATED)

    @extend_schema(responses=SecondLookSerializer)
    def destroy(self, request, **_):
        """It is not asked for any more; what was seen stays seen. Twice is once."""
        return Response(self.show(second_looks.end(request.user, self.get_object())))

    @extend_schema(responses=AgreementSerializer(many=True))
    @action(detail=True, pagination_class=None)
    def agreement(self, request, **_):
        """How far every two people who both watched some of it marked the same, and where they differ."""
        look = self.get_object()
        found = agreement.on(look.clip, look.in_frame, look.out_frame)
        return Response(AgreementSerializer(found, many=True).data)
