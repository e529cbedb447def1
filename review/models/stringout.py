from django.conf import settings
from django.db import models

from review.models.list import SelectsList


class Stringout(models.Model):
    """Selects of a list rendered one after the other from proxies, to be looked at. It can be made again."""

    list = models.ForeignKey(SelectsList, models.CASCADE, related_name="stringouts")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    # [select id, in_frame, out_frame] of what is in it, in order
    events = models.JSONField()
    list_version = models.PositiveIntegerField()
    milliseconds = models.PositiveBigIntegerField(default=0)
    file = models.CharField(max_length=120, blank=True)  # below MEDIA_HOME; empty until it is made

    class Meta:
        ordering = ["-id"]

    def __str__(self):
        return f"stringout of {self.list}"

    @property
    def seconds(self) -> float:
        return self.milliseconds / 1000
