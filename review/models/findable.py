from django.db import models

from review.models.production import Production
from review.models.select import Select


class Findable(models.Model):
    """What a search looks at: one row for each select that is not deleted, kept by `review.findables`."""

    select = models.OneToOneField(Select, models.CASCADE, related_name="findable")
    production = models.ForeignKey(Production, models.CASCADE, related_name="+")
    # Microseconds since 1970 at the select's first frame, on the production's clock: the order of results.
    shot_at = models.BigIntegerField()
    milliseconds = models.PositiveBigIntegerField()  # how long the select is
    words = models.TextField()  # folded, without accents, a space between two

    class Meta:
        indexes = [models.Index(fields=["production", "shot_at", "id"])]


class NamedSearch(models.Model):
    """A search that somebody gave a name, for everybody in the production."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="searches")
    name = models.CharField(max_length=80)
    query = models.TextField()  # what follows the '?' in the address of the page
    made_by = models.ForeignKey("Person", models.PROTECT, related_name="+")
    created = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["production", "name"], name="one_search_a_name")]

    def __str__(self):
        return self.name
