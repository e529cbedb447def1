"""Selects that are worth keeping for a stock library."""

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet
from review.crew import access
from review.desk import keeping
from review.models import Select, WorthKeeping


class KeepingSerializer(serializers.ModelSerializer):
    select = serializers.UUIDField(source="select_id")
    production = serializers.CharField(source="select.clip.card.production.code")
    card = serializers.CharField(source="select.clip.card.name")
    clip = serializers.IntegerField(source="select.clip_id")
    clip_name = serializers.CharField(source="select.clip.name")
    in_frame = serializers.IntegerField(source="select.in_frame")
    out_frame = serializers.IntegerField(source="select.out_frame")
    flagged_by = serializers.CharField(source="flagged_by.username")

    class Meta:
        model = WorthKeeping
        fields = (
            "select",
            "production",
            "card",
            "clip",
            "clip_name",
            "in_frame",
            "out_frame",
            "people",
            "rights",
            "flagged_by",
            "flagged_at",
        )


class KeepingForm(serializers.Serializer):
    people = serializers.ChoiceField(WorthKeeping.People.choices, default=WorthKeeping.People.UNKNOWN)
    rights = serializers.CharField(allow_blank=True, default="", max_length=keeping.LONGEST_RIGHTS)


class KeepingViewSet(HouseViewSet):
    """What is flagged: filter by `production` (code), `people`, `rights` (noted, missing), `card`, `date`, `text`."""

    visible = access.kept
    serializer_class = KeepingSerializer
    narrow = {"production": "select__clip__card__production__code"}

    def get_queryset(self):
        return super().get_queryset().select_related("select__clip__card__production", "flagged_by")

    def filter_queryset(self, rows):
        rows = super().filter_queryset(rows)
        return keeping.find(rows, self.request.query_params) if self.action == "list" else rows

    @extend_schema(parameters=[OpenApiParameter(name, str) for name in ("production", *keeping.FILTERS)])
    def list(self, request):
        return super().list(request)


class SelectKeepingViewSet(viewsets.GenericViewSet):
    serializer_class = KeepingSerializer
    lookup_value_regex = HouseViewSet.lookup_value_regex

    def get_queryset(self):
        if getattr(self, "swagger_fake_view", False):
            return Select.objects.none()
        return access.selects(self.request.user).select_related("clip__card__production")

    @extend_schema(request=KeepingForm)
    @action(detail=True, methods=["put", "delete"], url_path="keeping")
    def keeping(self, request, **_):
        """Flag a select as worth keeping or change what is said of it (PUT); take the flag away (DELETE)."""
        select = self.get_object()
        if request.method == "DELETE":
            keeping.unflag(request.user, select)
            return Response(status=status.HTTP_204_NO_CONTENT)
        form = KeepingForm(data=request.data)
        form.is_valid(raise_exception=True)
        kept = keeping.flag(request.user, select, **form.validated_data)
        return Response(self.get_serializer(kept).data)
