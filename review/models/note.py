from django.db import models

from review.models.production import Production


class FieldNote(models.Model):
    """Something written down on set. What was rolling then is worked out whenever it is asked: cards come later."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="field_notes")
    day = models.DateField()
    timecode = models.CharField(max_length=11)  # time of day, as it was written
    at = models.PositiveBigIntegerField()  # microseconds since midnight of that day
    camera = models.CharField(max_length=1, blank=True)  # empty: whatever was rolling
    text = models.TextField()
    tag = models.CharField(max_length=60, blank=True)
    digest = models.CharField(max_length=32)  # of all of it, so that a line that comes twice is one note
    taken_by = models.ForeignKey("Person", models.PROTECT, related_name="+")
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["day", "at", "id"]
        indexes = [models.Index(fields=["production", "day", "at"])]
        constraints = [models.UniqueConstraint(fields=["production", "digest"], name="one_note_a_line")]

    def __str__(self):
        return f"{self.day} {self.timecode} {self.text}"
