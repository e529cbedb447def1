from django.conf import settings
from django.db import models

from review.models.card import Card
from review.models.clip import Clip
from review.models.production import Production


class NeverEdited(models.QuerySet):
    """Rows that are written once. What they are about may go; they stay."""

    def update(self, **values):
        raise TypeError("what happened is never edited")

    def delete(self):
        raise TypeError("what happened is never taken back")


class Activity(models.Model):
    """One thing that somebody did, or that a worker did by itself. Written once, never changed."""

    class About(models.TextChoices):
        CARD = "card"
        CLIP = "clip"
        SELECT = "select"
        LIST = "list"
        STINT = "stint"
        NOTE = "note"
        PEOPLE = "people"
        PRODUCTION = "production"

    production = models.ForeignKey(Production, models.CASCADE, related_name="activity")
    at = models.DateTimeField(auto_now_add=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")  # null: a worker
    about = models.CharField(max_length=10, choices=About)
    subject = models.CharField(max_length=36, blank=True)  # the id of what it was done to
    did = models.CharField(max_length=40)  # a verb in the past: "marked", "accepted"
    card = models.ForeignKey(Card, models.SET_NULL, null=True, related_name="+")
    clip = models.ForeignKey(Clip, models.SET_NULL, null=True, related_name="+")
    words = models.CharField(max_length=400)  # the rest of the sentence

    objects = NeverEdited.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["production", "id"]),
            models.Index(fields=["production", "at", "id"]),
            models.Index(fields=["production", "about", "subject"]),
            models.Index(fields=["production", "about", "id"]),
            models.Index(fields=["production", "person", "at", "id"]),
        ]

    def __str__(self):
        return f"{self.person or 'Rushlight'} {self.did} {self.words}"

    def save(self, *args, **kwargs):
        if not self._state.adding:
            raise TypeError("what happened is never edited")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise TypeError("what happened is never taken back")
