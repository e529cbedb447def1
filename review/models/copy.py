from datetime import date

from django.db import models

from review.models.card import Card
from review.models.production import Production


class Medium(models.Model):
    """A drive, tape or disc that holds copies of a production's cards."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="media")
    volume = models.CharField(max_length=255)  # as review.cards.volumes tells it; for a tape, what a person wrote
    label = models.CharField(max_length=80)  # what is written on it
    kind = models.CharField(max_length=20)  # a key of review.cards.media_kinds.KINDS
    place = models.CharField(max_length=80, blank=True)  # where it is kept
    elsewhere = models.BooleanField(default=False)  # kept at another place than the work
    in_use_since = models.DateField(null=True)
    check_every = models.PositiveIntegerField(null=True)  # days; null: what is usual for its kind
    replace_by = models.DateField(null=True)  # null: what is usual for its kind
    retired_at = models.DateTimeField(null=True)  # its copies are not counted any more

    class Meta:
        ordering = ["label"]
        constraints = [models.UniqueConstraint(fields=["production", "volume"], name="one_medium_a_volume")]

    def __str__(self):
        return self.label


class Copy(models.Model):
    """The same card in one more folder; the folder that is worked from is a copy too."""

    class State(models.TextChoices):
        FOUND = "found", "found, not compared yet"
        SAME = "same", "the same, byte for byte"
        FAILED = "failed", "not the same"

    card = models.ForeignKey(Card, models.CASCADE, related_name="copies")
    medium = models.ForeignKey(Medium, models.PROTECT, related_name="copies")
    folder = models.TextField()  # absolute, as it was when last seen
    here = models.BooleanField(default=True)  # what was proven of a drive that is away stays on record
    fingerprint = models.CharField(max_length=64, blank=True)  # of the tree when last looked at
    settled_since = models.DateTimeField(null=True)  # the fingerprint has been this since then
    looked_at = models.DateTimeField(null=True)  # by the scan
    file_system = models.CharField(max_length=40, blank=True)  # by the machine's own number, when last read
    confirmed = models.BooleanField(default=True)  # one that was found by its contents counts once a person says so
    is_original = models.BooleanField(default=False)  # the camera's own card, in a reader: it is what would be wiped
    state = models.CharField(max_length=6, choices=State, default=State.FOUND)
    proven_at = models.DateTimeField(null=True)  # when it was last read and was the same, byte for byte
    checked_at = models.DateTimeField(null=True)
    findings = models.JSONField(default=list)
    found_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["card", "medium", "folder"], name="one_copy_a_folder")]

    def __str__(self):
        return f"{self.card.name} on {self.medium}"


class TapeDrive(models.Model):
    """An LTO drive that a production can still read its tapes with."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="tape_drives")
    label = models.CharField(max_length=80)
    generation = models.PositiveSmallIntegerField()  # 1 to 10
    until = models.DateField(null=True)  # when it goes, if that is known

    class Meta:
        ordering = ["-generation", "label"]

    def __str__(self):
        return f"{self.label} (LTO-{self.generation})"

    def is_there(self, on: date) -> bool:
        return self.until is None or on < self.until
