from django.contrib.auth.models import AbstractUser
from django.db import models


class Person(AbstractUser):
    """Somebody who signs in. What they may do is said by their memberships."""

    habits = models.JSONField(default=dict)  # as review.crew.habits: their own keys and how they like to work

    def __str__(self):
        return self.get_full_name() or self.username
