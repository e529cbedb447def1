from django.conf import settings
from django.db import models

from review.models.select import Select


class WorthKeeping(models.Model):
    """A select that could be offered to a stock library later. Whether it may be is for the production to decide."""

    class People(models.TextChoices):
        UNKNOWN = "unknown", "not looked at"
        NONE = "none", "nobody recognisable"
        RECOGNISABLE = "recognisable", "somebody recognisable"

    select = models.OneToOneField(Select, models.CASCADE, primary_key=True, related_name="worth_keeping")
    people = models.CharField(max_length=12, choices=People, default=People.UNKNOWN)
    rights = models.TextField(blank=True)  # whose, what was agreed, until when
    flagged_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    flagged_at = models.DateTimeField(auto_now_add=True)
