from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet
from review.api.together import TogetherActions
from review.api.watched import WatchedSerializer, watched_of
from review.crew import access
from review.derived import proxying
from review.models import Clip
from review.record import watching


class ClipSerializer(serializers.ModelSerializer):
    """Frames are counted from 0; `start` is the source timecode of frame 0. `proxy` is where its first `proxied_frames`
    can be played: all of them once `proxy_state` is ready, and fewer, in a file that is replaced, while it grows."""

    production = serializers.CharField(source="card.production.code")
    card = serializers.CharField(source="card.name")
    rate = serializers.CharField(source="timebase.rate")
    start = serializers.SerializerMethodField()
    proxy = serializers.SerializerMethodField()

    class Meta:
        model = Clip
        fields = [
            "id",
            "production",
            "card",
            "name",
            "kind",
            "files",
            "sidecars",
            "rate",
            "rate_numerator",
            "rate_denominator",
            "drop",
            "frames",
            "start",
            "start_frame",
            "timecode_source",
            "channels",
            "channel_names",
            "notes",
            "proxy_state",
            "proxy_problem",
            "proxy",
            "proxied_frames",
            "frame_doubt",
            "filmstrip",
            "has_peaks",
            "watched_frames",
            "skimmed_frames",
            "unwatched_frames",
        ]

    def get_start(self, clip) -> str:
        return clip.label(0)

    def get_proxy(self, clip) -> str | None:
        name = proxying.playable(clip)
        return reverse("media", args=[clip.id, name]) if name else None


class SpanForm(serializers.Serializer):
    in_frame = serializers.IntegerField(min_value=0)
    out_frame = serializers.IntegerField(min_value=1)
    speed = serializers.FloatField(min_value=0.01, max_value=16)
    muted = serializers.BooleanField()


class WatchedForm(serializers.Serializer):
    """What a page showed: batch number `batch` (from 1; 0 only opens the viewing) of the viewing `viewing`."""

    viewing = serializers.UUIDField()
    batch = serializers.IntegerField(min_value=0, max_value=1_000_000_000)
    spans = SpanForm(many=True, max_length=500)


class ClipViewSet(TogetherActions, HouseViewSet):
    """Clips: filter by `production` (code), `card` (name), `camera`, `date` and `kind`."""

    visible = access.clips
    serializer_class = ClipSerializer
    narrow = {
        "production": "card__production__code",
        "card": "card__name",
        "camera": "card__camera",
        "date": "card__shoot_date",
        "kind": "kind",
    }

    def get_queryset(self):
        clips = super().get_queryset().select_related("card__production")
        return clips.defer(*Clip.HEAVY) if self.action in ("watched", "pulse", "leave") else clips

    @extend_schema(methods=["GET"], responses=WatchedSerializer)
    @extend_schema(methods=["POST"], request=WatchedForm, responses=WatchedSerializer)
    @action(detail=True, methods=["get", "post"])
    def watched(self, request, **_):
        """What has been seen of the clip; or, sent, what was on your screen just now."""
        clip = self.get_object()
        if request.method == "POST":
            given = self.given(WatchedForm)
            spans = [watching.Span(**span) for span in given["spans"]]
            clip = watching.record(request.user, clip, given["viewing"], given["batch"], spans)
        return Response(watched_of(clip, request.user))
