from django.db import models
from django.db.models import Q

from review.models.card import Card
from review.models.clip import Clip


class Job(models.Model):
    """A row that says what a worker must do. It is the truth; a message on the queue only its courier."""

    class Kind(models.TextChoices):
        CHECK = "check"  # a card
        PROXY = "proxy"  # a clip
        PICTURES = "pictures"  # a clip's filmstrip and peaks, from its proxy

    class State(models.TextChoices):
        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    kind = models.CharField(max_length=10, choices=Kind)
    card = models.ForeignKey(Card, models.CASCADE, related_name="jobs")
    clip = models.ForeignKey(Clip, models.CASCADE, null=True, related_name="jobs")
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    why = models.CharField(max_length=200)  # what asked for it
    attempts = models.PositiveSmallIntegerField(default=0)
    done = models.PositiveBigIntegerField(default=0)  # bytes for a check, frames for the others
    total = models.PositiveBigIntegerField(default=0)
    error = models.TextField(blank=True)
    claim = models.UUIDField(null=True)  # the run that holds it; another run's results are refused
    created = models.DateTimeField(auto_now_add=True)
    sent_at = models.DateTimeField(null=True)
    heartbeat = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["state", "kind"])]
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "card"],
                condition=Q(state__in=["waiting", "running"], clip=None),
                name="one_open_job_a_card",
            ),
            models.UniqueConstraint(
                fields=["kind", "clip"],
                condition=Q(state__in=["waiting", "running"]),
                name="one_open_job_a_clip",
            ),
        ]

    def __str__(self):
        return f"{self.kind} {self.clip or self.card}"
