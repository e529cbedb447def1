from django.conf import settings
from django.db import models
from django.db.models import F, Q

from review.models.clip import Clip
from review.models.production import Production


class Split(models.Model):
    """A proposal of who watches what. Nobody holds any of it until it is accepted, when its pieces become stints."""

    class State(models.TextChoices):
        PROPOSED = "proposed"
        ACCEPTED = "accepted"
        DISCARDED = "discarded"

    production = models.ForeignKey(Production, models.CASCADE, related_name="splits")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=9, choices=State, default=State.PROPOSED)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    settled_at = models.DateTimeField(null=True)  # accepted or discarded
    wanted = models.JSONField(default=dict)  # what footage was chosen, as review.team.planning reads it
    hours = models.JSONField(default=dict)  # username -> hours that this person has
    version = models.PositiveIntegerField(default=1)  # tells two people who move pieces at once
    seen_by = models.ManyToManyField(settings.AUTH_USER_MODEL, related_name="+")  # who knows what it changed for them

    class Meta:
        ordering = ["-id"]

    def __str__(self):
        return f"split {self.id} of {self.production.code}"


class Piece(models.Model):
    """Frames [in_frame, out_frame) of a clip in a split, for one logger or, as long as none is given, for nobody."""

    split = models.ForeignKey(Split, models.CASCADE, related_name="pieces")
    clip = models.ForeignKey(Clip, models.CASCADE, related_name="+")
    in_frame = models.PositiveIntegerField()
    out_frame = models.PositiveIntegerField()
    logger = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    place = models.PositiveIntegerField(default=0)  # in the order in which its logger is to watch
    second = models.BooleanField(default=False)  # a second look at what somebody else watches first

    class Meta:
        ordering = ["place", "id"]
        constraints = [models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="piece_not_empty")]
