from django.conf import settings
from django.db import models
from django.db.models import F, Q

from review.models.clip import Clip


class Stint(models.Model):
    """A stretch of footage, [in_frame, out_frame) of a clip, that one logger has taken on."""

    clip = models.ForeignKey(Clip, models.CASCADE, related_name="stints")
    in_frame = models.PositiveIntegerField()
    out_frame = models.PositiveIntegerField()
    logger = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="stints")
    taken_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True)  # handed back; null while it is held

    class Meta:
        ordering = ["clip", "in_frame"]
        constraints = [models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="stint_not_empty")]
