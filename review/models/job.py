from django.db import models
from django.db.models import Q

from review.models.card import Card
from review.models.clip import Clip


class Job(models.Model):
    """A row that says what a worker must do. It is the truth; a message on the queue only its courier."""

    class Kind(models.TextChoices):
        CHECK = "check"  # a card
        COPY = "copy"  # a copy of a card: is it byte for byte the same?
        PROXY = "proxy"  # a clip
        SECTION = "section"  # a stretch of a long clip's proxy
        PICTURES = "pictures"  # a clip's filmstrip, peaks and lanes, from its proxy
        STRINGOUT = "stringout"  # of a list

    class State(models.TextChoices):
        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    kind = models.CharField(max_length=10, choices=Kind)
    card = models.ForeignKey(Card, models.CASCADE, null=True, related_name="jobs")  # null for a stringout alone
    clip = models.ForeignKey(Clip, models.CASCADE, null=True, related_name="jobs")
    copy = models.ForeignKey("Copy", models.CASCADE, null=True, related_name="jobs")
    stringout = models.ForeignKey("Stringout", models.CASCADE, null=True, related_name="jobs")
    part = models.PositiveIntegerField(default=0)  # which section, from 0
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    why = models.CharField(max_length=200)  # what asked for it
    attempts = models.PositiveSmallIntegerField(default=0)
    done = models.PositiveBigIntegerField(default=0)  # bytes for a check, frames for the others
    total = models.PositiveBigIntegerField(default=0)
    resumed = models.PositiveBigIntegerField(default=0)  # of `done`, what an earlier run had done
    error = models.TextField(blank=True)
    log = models.TextField(blank=True)  # the last lines of the run that failed
    claim = models.UUIDField(null=True)  # the run that holds it; another run's results are refused
    created = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True)  # when the run that holds it began
    sent_at = models.DateTimeField(null=True)
    heartbeat = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["state", "kind"]), models.Index(fields=["finished_at"])]
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "card"],
                condition=Q(state__in=["waiting", "running"], clip=None, copy=None),
                name="one_open_job_a_card",
            ),
            models.UniqueConstraint(
                fields=["kind", "clip", "part"],
                condition=Q(state__in=["waiting", "running"]),
                name="one_open_job_a_clip",
            ),
            models.UniqueConstraint(
                fields=["kind", "copy"],
                condition=Q(state__in=["waiting", "running"]),
                name="one_open_job_a_copy",
            ),
            models.UniqueConstraint(
                fields=["kind", "stringout"],
                condition=Q(state__in=["waiting", "running"]),
                name="one_open_job_a_stringout",
            ),
            models.CheckConstraint(condition=Q(card=None) ^ Q(stringout=None), name="a_job_about_something"),
        ]

    def __str__(self):
        return f"{self.kind} {self.clip or self.card or self.stringout}"


class ReadFile(models.Model):
    """A file that a running check has read to its end, so that a check that was cut short goes on from there."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="read_files")
    path = models.TextField()
    size = models.PositiveBigIntegerField()
    modified = models.FloatField()  # seconds since 1970
    hashes = models.JSONField()  # algorithm -> digest

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "path"], name="one_reading_a_file")]

    def __str__(self):
        return self.path
