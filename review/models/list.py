from django.conf import settings
from django.db import models

from review.models.production import Production
from review.models.select import Select


class SelectsList(models.Model):
    """An ordered pull of selects."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="lists")
    name = models.CharField(max_length=200)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created = models.DateTimeField(auto_now_add=True)
    modified = models.DateTimeField(auto_now=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["-modified"]
        constraints = [models.UniqueConstraint(fields=["production", "name"], name="one_list_a_name")]

    def __str__(self):
        return self.name


class ListEntry(models.Model):
    """A select's place in a list, counted from 0."""

    list = models.ForeignKey(SelectsList, models.CASCADE, related_name="entries")
    select = models.ForeignKey(Select, models.PROTECT, related_name="entries")
    position = models.PositiveIntegerField()

    class Meta:
        ordering = ["position", "id"]
        constraints = [models.UniqueConstraint(fields=["list", "select"], name="a_select_once_a_list")]
