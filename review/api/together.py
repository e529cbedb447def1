"""What the watching page asks beside its clip: who else is here, other angles, field notes."""

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.selects import SelectSerializer
from review.api.watched import WatchedSerializer, watched_of
from review.models import FieldNote, Stint, Viewing
from review.record import angles, field_notes, presence
from review.refusals import Refusal


class PulseForm(serializers.Serializer):
    """A page is open at `frame`; `since` is the `now` of its last pulse, or nothing the first time; the other two are
    how much was seen of the clip, as far as the page knows: what was seen is told only when that is not so any more."""

    viewing = serializers.UUIDField()
    frame = serializers.IntegerField(min_value=0, max_value=2**31)
    since = serializers.DateTimeField(required=False, allow_null=True, default=None)
    watched_frames = serializers.IntegerField(required=False, allow_null=True, default=None)
    skimmed_frames = serializers.IntegerField(required=False, allow_null=True, default=None)


class OtherSerializer(serializers.ModelSerializer):
    person = serializers.CharField(source="person.username")

    class Meta:
        model = Viewing
        fields = ("person", "frame", "heard_at")


class HeldSerializer(serializers.ModelSerializer):
    logger = serializers.CharField(source="logger.username")

    class Meta:
        model = Stint
        fields = ("id", "logger", "in_frame", "out_frame", "second")


class PulseSerializer(serializers.Serializer):
    others = OtherSerializer(many=True)
    selects = SelectSerializer(many=True)
    stints = HeldSerializer(many=True)
    seen = WatchedSerializer(allow_null=True)
    now = serializers.DateTimeField()
    proxied_frames = serializers.IntegerField()
    proxy_state = serializers.CharField()


class LeaveForm(serializers.Serializer):
    viewing = serializers.UUIDField()
    frame = serializers.IntegerField(min_value=0, max_value=2**31)
    remark = serializers.CharField(required=False, allow_blank=True, max_length=5000)


class AngleSerializer(serializers.Serializer):
    """Frames [in_frame, out_frame) of another clip that show the same time."""

    clip = serializers.IntegerField(source="clip.id")
    card = serializers.CharField(source="clip.card.name")
    camera = serializers.CharField(source="clip.card.camera")
    name = serializers.CharField(source="clip.name")
    kind = serializers.CharField(source="clip.kind")
    proxy_state = serializers.CharField(source="clip.proxy_state")
    filmstrip = serializers.JSONField(source="clip.filmstrip")
    clock_set = serializers.BooleanField(source="clip.card.clock_set")
    in_frame = serializers.IntegerField()
    out_frame = serializers.IntegerField()
    label = serializers.SerializerMethodField()

    def get_label(self, angle) -> str:
        return angle.clip.label(angle.in_frame)


class ClipNoteSerializer(serializers.ModelSerializer):
    class Meta:
        model = FieldNote
        fields = ("id", "day", "timecode", "camera", "text", "tag")


class NoteOnClip(serializers.Serializer):
    frame = serializers.IntegerField()
    note = ClipNoteSerializer()


class TogetherActions:
    """Actions of the clips' viewset."""

    @extend_schema(request=PulseForm, responses=PulseSerializer)
    @action(detail=True, methods=["post"])
    def pulse(self, request, **_):
        """Say that your page is open at a frame; hear who else is here, which selects are new or changed, who holds
        what of the clip, and what was seen of it, if that has changed."""
        clip, given = self.get_object(), self.given(PulseForm)
        told = presence.pulse(request.user, clip, given["viewing"], given["frame"], given["since"])
        # Seen frames only become more, so two sums that are the same mean that the ranges are.
        known = (given["watched_frames"], given["skimmed_frames"]) == (clip.watched_frames, clip.skimmed_frames)
        return Response(
            {
                "others": OtherSerializer(told.others, many=True).data,
                "selects": SelectSerializer(told.selects, many=True).data,
                "stints": HeldSerializer(told.stints, many=True).data,
                "seen": None if known else watched_of(clip, request.user),
                "now": told.now,
                "proxied_frames": clip.proxied_frames,
                "proxy_state": clip.proxy_state,
            }
        )

    @extend_schema(request=LeaveForm, responses={204: None})
    @action(detail=True, methods=["post"])
    def leave(self, request, **_):
        """Close a page at a frame, with a remark for whoever comes next."""
        given = self.given(LeaveForm)
        presence.leave(request.user, self.get_object(), given["viewing"], given["frame"], given.get("remark"))
        return Response(status=204)

    @extend_schema(parameters=[OpenApiParameter("frame", int)], responses=AngleSerializer(many=True))
    @action(detail=True, pagination_class=None)
    def angles(self, request, **_):
        """The other clips that were rolling at a frame."""
        clip = self.get_object()
        asked = request.query_params.get("frame", "0")
        if not (asked.isascii() and asked.isdigit() and len(asked) < 11 and int(asked) < clip.frames):
            raise Refusal(f"{clip.name} has no frame {asked[:20]!a}.", "frame")
        return Response(AngleSerializer(angles.of(clip, int(asked)), many=True).data)

    @extend_schema(responses=NoteOnClip(many=True))
    @action(detail=True, pagination_class=None)
    def notes(self, request, **_):
        """The field notes that were written while the clip was rolling."""
        found = [{"frame": frame, "note": note} for frame, note in field_notes.on_clip(self.get_object())]
        return Response(NoteOnClip(found, many=True).data)
