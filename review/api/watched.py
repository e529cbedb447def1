"""What has been seen of a clip, as its page is told."""

from rest_framework import serializers

from review.models import Clip, Person
from review.record import watching


class WatchedSerializer(serializers.Serializer):
    """Ranges [in, out) in frames: by anybody, and by you."""

    watched = serializers.ListField(child=serializers.ListField(child=serializers.IntegerField()))
    skimmed = serializers.ListField(child=serializers.ListField(child=serializers.IntegerField()))
    mine_watched = serializers.ListField(child=serializers.ListField(child=serializers.IntegerField()))
    mine_skimmed = serializers.ListField(child=serializers.ListField(child=serializers.IntegerField()))
    watched_frames = serializers.IntegerField()
    skimmed_frames = serializers.IntegerField()
    unwatched_frames = serializers.IntegerField()


def watched_of(clip: Clip, person: Person) -> dict:
    """What WatchedSerializer describes, `person` being you."""
    everybody, mine = watching.seen_by_all_and_by(clip, person)
    return {
        "watched": everybody[watching.WATCHED],
        "skimmed": everybody[watching.SKIMMED],
        "mine_watched": mine[watching.WATCHED],
        "mine_skimmed": mine[watching.SKIMMED],
        "watched_frames": clip.watched_frames,
        "skimmed_frames": clip.skimmed_frames,
        "unwatched_frames": clip.unwatched_frames,
    }
