from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet, own_production
from review.crew import access
from review.models import Person, Stint
from review.record import stints
from review.refusals import NotFound
from review.team import stretches


class StintSerializer(serializers.ModelSerializer):
    card = serializers.CharField(source="clip.card.name")
    clip_name = serializers.CharField(source="clip.name")
    logger = serializers.CharField(source="logger.username")

    class Meta:
        model = Stint
        fields = (
            *("id", "clip", "card", "clip_name", "in_frame", "out_frame", "logger", "second", "split", "place"),
            *("taken_at", "touched_at", "ended_at", "ended_why"),
        )


class StintForm(serializers.Serializer):
    clip = serializers.IntegerField(min_value=1, max_value=2**62)
    in_frame = serializers.IntegerField(min_value=0, default=0)
    out_frame = serializers.IntegerField(min_value=1, required=False)
    logger = serializers.CharField(required=False, help_text="who it is for, if not yourself")
    second = serializers.BooleanField(default=False, help_text="a second look, over the first of somebody else")


class StretchForm(serializers.Serializer):
    production = serializers.CharField(max_length=4)
    minutes = serializers.IntegerField(min_value=1, max_value=stretches.LONGEST)


class StintViewSet(HouseViewSet):
    """Stretches of footage that loggers have taken on: filter by `production`, `clip`, `logger`, `held` (yes)."""

    visible = access.stints
    serializer_class = StintSerializer
    narrow = {"production": "clip__card__production__code", "clip": "clip", "logger": "logger__username"}

    def get_queryset(self):
        return super().get_queryset().select_related("clip__card__production", "logger")

    def filter_queryset(self, rows):
        rows = super().filter_queryset(rows)
        if self.request.query_params.get("held") == "yes":
            rows = rows.filter(ended_at=None)
        return rows

    @extend_schema(request=StintForm, responses={201: StintSerializer})
    def create(self, request):
        """Take a stretch, or with `logger` give it to somebody."""
        given = self.given(StintForm)
        clip = access.clips(request.user).select_related("card__production").filter(id=given["clip"]).first()
        if clip is None:
            raise NotFound("There is no such clip, or it is in a production you are not a member of.", "clip")
        stretch = (given["in_frame"], given.get("out_frame"))
        if "logger" in given and given["logger"] != request.user.username:
            logger = Person.objects.filter(
                username=given["logger"], memberships__production=clip.card.production
            ).first()
            if logger is None:
                raise NotFound(f"{given['logger']!r} is not in this production.", "logger")
            stint = stints.hand_out(request.user, logger, clip, *stretch, second=given["second"])
        else:
            stint = stints.take(request.user, clip, *stretch, second=given["second"])
        return Response(self.show(stint), status.HTTP_201_CREATED)

    @extend_schema(responses=StintSerializer)
    def destroy(self, request, **_):
        """Hand the stretch back."""
        return Response(self.show(stints.hand_back(request.user, self.get_object())))

    @extend_schema(request=StretchForm, responses={201: StintSerializer(many=True)})
    @action(detail=False, methods=["post"])
    def stretch(self, request):
        """Take about so many minutes of what nobody saw and nobody holds, near what you watched last."""
        given = self.given(StretchForm)
        production = own_production(request.user, given["production"])
        taken = stretches.take_stretch(request.user, production, given["minutes"])
        return Response(self.get_serializer(taken, many=True).data, status.HTTP_201_CREATED)
