from fractions import Fraction

from django.conf import settings
from django.db import models
from django.db.models import F

from review.cards.findings import STOP
from review.models.production import Production


class Card(models.Model):
    """One camera card in its own folder, whose name is its identity everywhere, for ever."""

    class State(models.TextChoices):
        FOUND = "found"
        CHECKING = "checking"
        VERIFIED = "verified"
        HELD = "held"
        ACCEPTED = "accepted"  # held, and trusted by a person who said why

    class Proof(models.TextChoices):
        CHECKSUMS = "checksums", "every file agrees with its checksums"
        PARTIAL = "partial", "all footage agrees with its checksums; some other files came without"
        NONE = "none", "no checksums came: read through once, not proven"

    TRUSTED = (State.VERIFIED, State.ACCEPTED)

    production = models.ForeignKey(Production, models.CASCADE, related_name="cards")
    name = models.CharField(max_length=255)
    folder = models.TextField()  # absolute; its last part is the name
    reel = models.CharField(max_length=8)
    shoot_date = models.DateField(null=True)  # these three from the name; null when it does not fit
    camera = models.CharField(max_length=1, blank=True)
    number = models.PositiveSmallIntegerField(null=True)
    # Seconds, as an exact fraction, to add to this card's timecode to be on the production's clock.
    clock_numerator = models.BigIntegerField(default=0)
    clock_denominator = models.PositiveBigIntegerField(default=1)
    clock_set = models.BooleanField(default=False)  # by a person

    state = models.CharField(max_length=10, choices=State, default=State.FOUND)
    proof = models.CharField(max_length=10, choices=Proof, blank=True)
    layout = models.CharField(max_length=60, blank=True)
    findings = models.JSONField(default=list)  # as review.cards.findings.Finding.as_dict
    manifests = models.JSONField(default=list)  # names of the checksum lists it was compared with
    total_bytes = models.PositiveBigIntegerField(default=0)
    file_count = models.PositiveIntegerField(default=0)
    fingerprint = models.CharField(max_length=64, blank=True)  # of the tree when last looked at
    contents = models.CharField(max_length=32, blank=True)  # the same for every whole copy, whatever its folder's name
    settled_since = models.DateTimeField(null=True)  # the fingerprint has been this since then

    looked_at = models.DateTimeField(null=True)  # by the scan, since it was trusted

    found_at = models.DateTimeField(auto_now_add=True)
    checked_at = models.DateTimeField(null=True)
    accepted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    accepted_at = models.DateTimeField(null=True)
    accepted_reason = models.TextField(blank=True)
    accepted_stops = models.JSONField(default=list)  # the findings that this person knew of
    sealed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    sealed_at = models.DateTimeField(null=True)

    class Meta:
        ordering = [F("shoot_date").asc(nulls_last=True), "camera", "number", "name"]
        constraints = [
            models.UniqueConstraint(fields=["production", "name"], name="one_card_a_name"),
            models.UniqueConstraint(fields=["production", "reel"], name="one_card_a_reel"),
        ]

    def __str__(self):
        return self.name

    @property
    def stops(self) -> list[list[str]]:
        """What the check found that holds the card, to be compared with what was found another time."""
        return sorted([each["code"], each["where"], each["what"]] for each in self.findings if each["severity"] == STOP)

    @property
    def clock_offset(self) -> Fraction:
        """Seconds."""
        return Fraction(self.clock_numerator, self.clock_denominator)

    @property
    def trusted(self) -> bool:
        return self.state in self.TRUSTED


class CardFile(models.Model):
    """A file of a card as it was when last checked."""

    card = models.ForeignKey(Card, models.CASCADE, related_name="files")
    path = models.TextField()  # below the card folder, with '/'
    size = models.PositiveBigIntegerField()
    modified = models.FloatField()  # seconds since 1970
    hashes = models.JSONField(default=dict)  # algorithm -> hexadecimal digest
    proven = models.BooleanField(default=False)  # agrees with a checksum that came with the card
    trusted_digest = models.CharField(max_length=32, blank=True)  # our own, of when the card was last trusted
    here = models.BooleanField(default=True)  # a file that was trusted and is gone is remembered

    class Meta:
        ordering = ["path"]
        constraints = [models.UniqueConstraint(fields=["card", "path"], name="one_row_a_file")]

    def __str__(self):
        return self.path
