from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from review.models.clip import Clip
from review.models.split import Split


class Stint(models.Model):
    """A stretch of footage, [in_frame, out_frame) of a clip, that one logger has taken on."""

    clip = models.ForeignKey(Clip, models.CASCADE, related_name="stints")
    in_frame = models.PositiveIntegerField()
    out_frame = models.PositiveIntegerField()
    logger = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="stints")
    second = models.BooleanField(default=False)  # a second look: may lie over the stint of somebody else
    split = models.ForeignKey(Split, models.SET_NULL, null=True, related_name="stints")  # that it came from
    place = models.PositiveIntegerField(default=0)  # in the order in which its logger is to watch
    taken_at = models.DateTimeField(auto_now_add=True)
    touched_at = models.DateTimeField(default=timezone.now)  # when its logger last watched or marked in it
    ended_at = models.DateTimeField(null=True)  # null while it is held
    ended_why = models.CharField(max_length=60, blank=True)
    moved_in = models.ForeignKey(Split, models.SET_NULL, null=True, related_name="moved")  # what gave it to others

    class Meta:
        ordering = ["place", "clip", "in_frame"]
        indexes = [models.Index(fields=["logger", "ended_at"])]
        constraints = [models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="stint_not_empty")]


class SecondLook(models.Model):
    """Frames [in_frame, out_frame) of a clip that two pairs of eyes are asked to see."""

    clip = models.ForeignKey(Clip, models.CASCADE, related_name="second_looks")
    in_frame = models.PositiveIntegerField()
    out_frame = models.PositiveIntegerField()
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    why = models.CharField(max_length=200, blank=True)
    ended_at = models.DateTimeField(null=True)  # not wanted any more
    seen_frames = models.PositiveIntegerField(default=0)  # watched by two people or more; kept as watching arrives

    class Meta:
        ordering = ["clip", "in_frame"]
        constraints = [models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="second_look_not_empty")]

    @property
    def frames(self) -> int:
        return self.out_frame - self.in_frame
