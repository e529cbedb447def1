from django.conf import settings
from django.db import models


class AccessToken(models.Model):
    """Lets a script act for a person. Only its digest is kept: what was shown once cannot be shown again."""

    class Scope(models.TextChoices):
        READ = "read", "look only"
        WRITE = "write", "look and change"

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=80)  # what it is for
    start = models.CharField(max_length=8)  # its first letters, to be told apart from others
    digest = models.CharField(max_length=64, unique=True)  # SHA-256, hexadecimal
    scope = models.CharField(max_length=5, choices=Scope, default=Scope.READ)
    created = models.DateTimeField(auto_now_add=True)
    expires = models.DateTimeField(null=True)
    used_at = models.DateTimeField(null=True)  # to the hour
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self):
        return f"{self.name} ({self.start}…) of {self.person}"
