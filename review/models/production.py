from django.conf import settings
from django.db import models

from review import roles
from review.timecode import Rate, Timebase


class Production(models.Model):
    """One job. Its rate and counting serve what has none of its own: sound, and record timecode."""

    code = models.CharField(max_length=4, unique=True)
    title = models.CharField(max_length=200)
    rate_numerator = models.PositiveIntegerField(default=25)
    rate_denominator = models.PositiveIntegerField(default=1)
    drop = models.BooleanField(default=False)
    name_rule = models.CharField(max_length=200, blank=True)  # as review.cards.name_rules; empty: the usual one
    wipe_copies = models.PositiveSmallIntegerField(default=3)  # proven ones, before a card may be wiped
    wipe_devices = models.PositiveSmallIntegerField(default=2)  # that these are on
    wipe_elsewhere = models.PositiveSmallIntegerField(default=1)  # of these copies, kept at another place
    idle_hours = models.PositiveIntegerField(default=24)  # a stint that rests longer is offered to others
    shoot_until = models.DateField(null=True)  # the last day of shooting, if it is known
    shot_a_day = models.PositiveIntegerField(null=True)  # minutes, expected; null: as so far
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["code"]

    def __str__(self):
        return f"{self.code} {self.title}"

    @property
    def timebase(self) -> Timebase:
        return Timebase(Rate(self.rate_numerator, self.rate_denominator), self.drop)


class Membership(models.Model):
    """A role that a person holds in a production; somebody may hold several."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="memberships")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=20, choices=[(role, role) for role in roles.ROLES])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["production", "person", "role"], name="one_membership_a_role"),
        ]
