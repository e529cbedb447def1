from itertools import accumulate

from django.db import models
from django.db.models import F, Q

from review.models.card import Card
from review.timecode import Rate, Timebase


class Clip(models.Model):
    """One continuous recording on a card. Its frames are counted from 0 and are the only address."""

    class Kind(models.TextChoices):
        VIDEO = "video"
        SOUND = "sound"

    class ProxyState(models.TextChoices):
        WAITING = "waiting"
        GROWING = "growing"  # its first `proxied_frames` can be watched
        READY = "ready"
        FAILED = "failed"

    PLAYABLE = (ProxyState.GROWING, ProxyState.READY)
    HEAVY = (
        "probe",
        "files",
        "file_frames",
        "sound_files",
        "sidecars",
        "notes",
    )  # columns to defer where none is shown

    card = models.ForeignKey(Card, models.CASCADE, related_name="clips")
    name = models.CharField(max_length=255)
    kind = models.CharField(max_length=5, choices=Kind)
    files = models.JSONField()  # paths below the card folder, in recording order
    file_frames = models.JSONField(default=list)  # how many frames each of the files holds
    sound_files = models.JSONField(default=list)  # for each of `files`, the paths of sound files that ran beside it
    sidecars = models.JSONField(default=list)
    probe = models.JSONField(default=dict)  # as review.media.probe.Probe.as_dict

    rate_numerator = models.PositiveIntegerField()
    rate_denominator = models.PositiveIntegerField()
    drop = models.BooleanField()
    frames = models.PositiveIntegerField()
    start_frame = models.PositiveIntegerField()  # frames since midnight at the first frame, by this clip's labels
    timecode_source = models.CharField(max_length=80, blank=True)  # empty: the camera gave none
    channels = models.PositiveSmallIntegerField()
    channel_names = models.JSONField(default=list)  # of the first channels, as the recorder named them; "" for none
    notes = models.JSONField(default=list)  # for people: what is odd about the recording or its timecode

    proxy_state = models.CharField(max_length=8, choices=ProxyState, default=ProxyState.WAITING)
    proxy_problem = models.TextField(blank=True)
    proxied_frames = models.PositiveIntegerField(default=0)
    frame_doubt = models.TextField(blank=True)  # why this clip's frame numbers may not be the original's
    filmstrip = models.JSONField(null=True)  # the fields of review.media.filmstrip.Filmstrip
    has_peaks = models.BooleanField(default=False)
    has_lanes = models.BooleanField(default=False)

    # Kept as watching arrives, so that coverage never has to be summed from ranges.
    watched_frames = models.PositiveIntegerField(default=0)
    skimmed_frames = models.PositiveIntegerField(default=0)  # skimmed by somebody and watched by nobody
    select_count = models.PositiveIntegerField(default=0)  # that are not deleted; kept as they are marked
    unseen_count = models.PositiveIntegerField(default=0)  # rows of Unwatched that nobody skimmed; kept with them

    class Meta:
        ordering = ["card", "start_frame", "name"]
        constraints = [
            models.UniqueConstraint(fields=["card", "name"], name="one_clip_a_name"),
            models.CheckConstraint(
                condition=Q(watched_frames__lte=F("frames") - F("skimmed_frames")), name="seen_within_clip"
            ),
        ]

    def __str__(self):
        return f"{self.card.name} {self.name}"

    @property
    def timebase(self) -> Timebase:
        return Timebase(Rate(self.rate_numerator, self.rate_denominator), self.drop)

    def label(self, frame: int) -> str:
        """The source timecode of frame `frame` of this clip."""
        return self.timebase.label(self.start_frame + frame)

    def files_of(self, in_frame: int, out_frame: int) -> tuple[list[str], tuple[int, int]]:
        """The files that hold frames [in_frame, out_frame), in order, and the range of frames that they hold."""
        ends = list(accumulate(self.file_frames))
        parts = list(zip(self.files, [0, *ends], ends, strict=False))
        # A recording that was copied again may have become shorter than what was marked on it.
        held = [part for part in parts if part[1] < out_frame and part[2] > in_frame] or parts[-1:]
        if not held:  # the recording is shorter than when the frames were marked
            return self.files[-1:], (0, self.frames)
        return [file for file, _, _ in held], (held[0][1], held[-1][2])

    @property
    def essence(self) -> list[str]:
        """The paths of all files that hold its pictures and sound."""
        return [*self.files, *(path for beside in self.sound_files for path in beside)]

    @property
    def has_source_timecode(self) -> bool:
        return bool(self.timecode_source)

    @property
    def watchable_frames(self) -> int:
        """How many of its frames can be watched by now, from the first."""
        return self.frames if self.proxy_state == self.ProxyState.READY else self.proxied_frames

    @property
    def unwatched_frames(self) -> int:
        return self.frames - self.watched_frames - self.skimmed_frames
