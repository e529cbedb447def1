from django.conf import settings
from django.db import models
from django.db.models import F, Q

from review.models.clip import Clip
from review.models.production import Production


class Tag(models.Model):
    """A word of the production's own set. Two that differ only in case are one; databases disagree about
    case, so the folded word is kept beside it."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="tags")
    name = models.CharField(max_length=60)
    folded = models.CharField(max_length=180)  # name.casefold(), which may be longer
    group = models.CharField(max_length=30, blank=True)
    key = models.CharField(max_length=1, blank=True)  # the key that sets it while watching

    class Meta:
        ordering = ["group", "name"]
        constraints = [models.UniqueConstraint(fields=["production", "folded"], name="one_tag_a_name")]

    def __str__(self):
        return self.name


class Select(models.Model):
    """A marked range of a clip, [in_frame, out_frame). Its id is made in the browser, so that
    writing it twice is writing it once; its version tells two people who change it at once."""

    id = models.UUIDField(primary_key=True)
    clip = models.ForeignKey(Clip, models.PROTECT, related_name="selects")
    in_frame = models.PositiveIntegerField()
    out_frame = models.PositiveIntegerField()
    note = models.TextField(blank=True)
    rating = models.PositiveSmallIntegerField(default=0)
    tags = models.ManyToManyField(Tag, related_name="selects", blank=True)
    logger = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="selects")
    version = models.PositiveIntegerField(default=1)
    # Not marked by hand but carried over from the same moment on another camera.
    carried_from = models.ForeignKey("self", models.SET_NULL, null=True, related_name="carried_to")
    created = models.DateTimeField(auto_now_add=True)
    modified = models.DateTimeField(auto_now=True)
    deleted = models.DateTimeField(null=True)

    class Meta:
        ordering = ["clip", "in_frame", "out_frame", "id"]
        indexes = [
            models.Index(fields=["clip", "in_frame"]),
            models.Index(fields=["clip", "deleted", "logger"], name="selects_by_logger"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="in_before_out"),
            models.CheckConstraint(condition=Q(rating__lte=5), name="rating_to_five"),
        ]

    def __str__(self):
        return f"{self.clip} [{self.in_frame}, {self.out_frame})"

    @property
    def frames(self) -> int:
        return self.out_frame - self.in_frame


class ClipTag(models.Model):
    """How many selects of a clip have a tag, those left out that are deleted; no row for none. Kept as they are marked,
    so that what footage a tag is on never has to be gathered from all selects."""

    clip = models.ForeignKey(Clip, models.CASCADE, related_name="+", db_index=False)
    tag = models.ForeignKey(Tag, models.CASCADE, related_name="on_clips", db_index=False)
    selects = models.PositiveIntegerField()

    class Meta:
        indexes = [models.Index(fields=["tag", "clip", "selects"], name="clips_by_tag")]
        constraints = [models.UniqueConstraint(fields=["clip", "tag"], name="one_count_a_clip_and_tag")]
