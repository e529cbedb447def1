from django.conf import settings
from django.db import models

from review.models.production import Production


class WorkedSlot(models.Model):
    """Five minutes in which somebody watched footage of one camera, and what came of it: the stuff of forecasts.

    Times of footage are microseconds. *Fresh* is what nobody had seen before.
    """

    MINUTES = 5

    production = models.ForeignKey(Production, models.CASCADE, related_name="worked_slots")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="worked_slots")
    began = models.DateTimeField()  # a whole multiple of five minutes
    camera = models.CharField(max_length=1, blank=True)  # empty: a card whose name gives none
    sound = models.BooleanField(default=False)  # clips without a picture
    shown = models.PositiveBigIntegerField(default=0)
    fresh_watched = models.PositiveBigIntegerField(default=0)
    fresh_skimmed = models.PositiveBigIntegerField(default=0)

    class Meta:
        indexes = [models.Index(fields=["production", "began"])]
        constraints = [
            models.UniqueConstraint(
                fields=["production", "person", "began", "camera", "sound"], name="one_row_a_worked_slot"
            )
        ]
