from django.conf import settings
from django.db import models
from django.db.models import F, Q

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
    handles = models.PositiveIntegerField(default=0)  # milliseconds added on both sides of every entry
    options = models.JSONField(default=dict)  # of the last export, to be offered again

    class Meta:
        ordering = ["-modified"]
        constraints = [models.UniqueConstraint(fields=["production", "name"], name="one_list_a_name")]

    def __str__(self):
        return self.name


class ListSection(models.Model):
    """A part of a list with a heading. Entries without one come before the first."""

    list = models.ForeignKey(SelectsList, models.CASCADE, related_name="sections")
    title = models.CharField(max_length=120)
    position = models.PositiveIntegerField()

    class Meta:
        ordering = ["position", "id"]

    def __str__(self):
        return self.title


class ListEntry(models.Model):
    """A select's place in a list: in the order of the sections, and inside one by position, counted from 0."""

    list = models.ForeignKey(SelectsList, models.CASCADE, related_name="entries")
    select = models.ForeignKey(Select, models.PROTECT, related_name="entries")
    section = models.ForeignKey(ListSection, models.SET_NULL, null=True, related_name="entries")
    position = models.PositiveIntegerField()
    # A trim belongs to the list and leaves the select alone; null: as the select has it.
    in_frame = models.PositiveIntegerField(null=True)
    out_frame = models.PositiveIntegerField(null=True)

    class Meta:
        ordering = [F("section__position").asc(nulls_first=True), "position", "id"]
        constraints = [
            models.UniqueConstraint(fields=["list", "select"], name="a_select_once_a_list"),
            models.CheckConstraint(
                condition=Q(in_frame=None) | Q(out_frame=None) | Q(in_frame__lt=F("out_frame")),
                name="entry_not_empty",
            ),
        ]


class ListExport(models.Model):
    """One export of a list, byte for byte as it was handed over."""

    list = models.ForeignKey(SelectsList, models.CASCADE, related_name="exports")
    number = models.PositiveIntegerField()  # from 1, in its list
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    kind = models.CharField(max_length=12)  # a key of review.exports.FORMATS
    options = models.JSONField(default=dict)
    # [select id, in_frame, out_frame] of every event: what "new since my last pull" is compared with
    events = models.JSONField()
    name = models.CharField(max_length=255)
    content_type = models.CharField(max_length=80)
    content = models.BinaryField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["-number"]
        constraints = [models.UniqueConstraint(fields=["list", "number"], name="one_export_a_number")]

    def __str__(self):
        return f"export {self.number} of {self.list}"
