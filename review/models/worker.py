from django.db import models


class WorkerSeen(models.Model):
    """A worker process, and when it was last heard of."""

    name = models.CharField(max_length=120, unique=True)  # of the process, and the machine
    queues = models.CharField(max_length=200)
    started_at = models.DateTimeField()
    heard_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True)  # said goodbye

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name
