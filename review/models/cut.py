from django.conf import settings
from django.db import models

from review.models.card import Card
from review.models.clip import Clip
from review.models.production import Production


class Cut(models.Model):
    """A cut list that came back from editing, as it came, and what was made of it."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="cuts")
    name = models.CharField(max_length=200)
    file_name = models.CharField(max_length=255)
    content = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    rate_numerator = models.PositiveIntegerField()  # that its labels were read with
    rate_denominator = models.PositiveIntegerField()
    given_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    given_at = models.DateTimeField(auto_now_add=True)
    remarks = models.JSONField(default=list)  # for people: lines that could not be read, and why

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["production", "sha256"], name="a_cut_once")]

    def __str__(self):
        return self.name


class CutEvent(models.Model):
    """An event of a cut, and the footage that it uses as far as it was found.

    Labels are as they were written; one that could not be read has none. [in_frame, out_frame) are frames of the clip.
    """

    class Sure(models.TextChoices):
        SURE = "sure"
        LIKELY = "likely"
        LOST = "lost", "not found"
        NONE = "none", "no footage: black, bars or a title"

    cut = models.ForeignKey(Cut, models.CASCADE, related_name="events")
    place = models.PositiveIntegerField()  # from 0, in the order of the file
    number = models.CharField(max_length=12)  # as written
    reel = models.CharField(max_length=255)
    clip_name = models.CharField(max_length=255, blank=True)
    channels = models.CharField(max_length=20)
    edit = models.CharField(max_length=20)  # C, D 012 ...
    speed = models.FloatField(null=True)  # frames a second that the source runs at; null: as it was shot
    source_in = models.CharField(max_length=11)
    source_out = models.CharField(max_length=11)
    record_in = models.CharField(max_length=11)
    record_out = models.CharField(max_length=11)
    line = models.PositiveIntegerField()  # of the file, from 1

    sure = models.CharField(max_length=6, choices=Sure, default=Sure.LOST)
    why = models.CharField(max_length=400, blank=True)
    card = models.ForeignKey(Card, models.SET_NULL, null=True, related_name="cut_events")
    clip = models.ForeignKey(Clip, models.SET_NULL, null=True, related_name="cut_events")
    in_frame = models.PositiveIntegerField(null=True)
    out_frame = models.PositiveIntegerField(null=True)
    # What else it may be: {"clip": id or null, "words": ..., "frame": the first that it would use, or null}. Where a
    # person chose, {"clip": id, "chosen_by": name} comes first, so that looking again keeps it.
    nearest = models.JSONField(default=list)

    class Meta:
        ordering = ["place"]
        indexes = [models.Index(fields=["clip", "in_frame"])]

    def __str__(self):
        return f"event {self.number} (line {self.line})"

    @property
    def read(self) -> bool:
        """Whether its line has the timecodes of an event."""
        return bool(self.source_in)

    @property
    def chosen_by(self) -> str:
        """Who said which clip it is; "" where the list did."""
        return self.nearest[0].get("chosen_by", "") if self.nearest else ""

    @property
    def candidates(self) -> list[dict]:
        return [each for each in self.nearest if "chosen_by" not in each]

    @property
    def how_sure(self) -> str:
        """In words for people."""
        if self.chosen_by:
            return f"chosen by {self.chosen_by}"
        if self.sure == self.Sure.NONE:
            return "no footage"
        return self.get_sure_display().lower() if self.read else "not read"
