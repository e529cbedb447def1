from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from review.models.clip import Clip


class Viewing(models.Model):
    """One opening of a clip by one person: the clock against which what they say they saw is held."""

    id = models.UUIDField(primary_key=True)  # made by the page that watches
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="viewings")
    clip = models.ForeignKey(Clip, models.CASCADE, related_name="viewings")
    opened_at = models.DateTimeField(default=timezone.now)
    seconds_used = models.FloatField(default=0)  # of playing, already claimed
    last_batch = models.PositiveIntegerField(default=0)  # batches up to this one have been counted
    frame = models.PositiveIntegerField(default=0)  # on the screen when last heard of
    heard_at = models.DateTimeField(null=True)
    left_at = models.DateTimeField(null=True)  # the page was closed
    remark = models.TextField(blank=True)  # for whoever comes next

    class Meta:
        indexes = [models.Index(fields=["clip", "heard_at"])]


class SeenBy(models.Model):
    """How many frames of a clip one person watched, and how many they skimmed and did not watch. Kept as watching
    arrives, so that what each person has seen never has to be summed from ranges."""

    clip = models.ForeignKey(Clip, models.CASCADE, related_name="seen_by", db_index=False)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    watched_frames = models.PositiveIntegerField(default=0)
    skimmed_frames = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["clip", "person"], name="one_sum_a_clip_and_person")]


class Unwatched(models.Model):
    """Frames [in_frame, out_frame) of a clip that nobody has watched: skimmed by somebody, or seen by nobody. Kept as
    watching arrives. A clip of which nothing was seen at all has none: the whole of it is such a stretch. `seconds` is
    how long it lasts, kept so that the longest of some hundred thousand are found at once."""

    clip = models.ForeignKey(Clip, models.CASCADE, related_name="unwatched")
    in_frame = models.PositiveIntegerField()
    out_frame = models.PositiveIntegerField()
    skimmed = models.BooleanField()
    seconds = models.FloatField()

    class Meta:
        ordering = ["clip", "in_frame"]
        indexes = [models.Index("skimmed", F("seconds").desc(), "clip", "in_frame", name="longest_unwatched")]
        constraints = [models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="unwatched_not_empty")]


class WatchedRange(models.Model):
    """Frames [in_frame, out_frame) of a clip that a person watched or skimmed. One person's ranges
    of one manner never touch each other: they are joined as they arrive."""

    class Manner(models.TextChoices):
        WATCHED = "watched"
        SKIMMED = "skimmed"

    clip = models.ForeignKey(Clip, models.CASCADE, related_name="watched_ranges")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="watched_ranges")
    manner = models.CharField(max_length=7, choices=Manner)
    in_frame = models.PositiveIntegerField()
    out_frame = models.PositiveIntegerField()

    class Meta:
        ordering = ["in_frame"]
        indexes = [models.Index(fields=["clip", "person", "manner", "in_frame"])]
        constraints = [models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="watched_not_empty")]
