from django.conf import settings
from django.db import models

from review.models.card import Card
from review.models.production import Production
from review.models.select import Select


class Findable(models.Model):
    """What a search looks at: one row for each select that is not deleted, kept by `review.record.findables`. What is
    asked of many selects at once is kept here again, so that a search reads one table."""

    select = models.OneToOneField(Select, models.CASCADE, related_name="findable")
    production = models.ForeignKey(Production, models.CASCADE, related_name="+")
    card = models.ForeignKey(Card, models.CASCADE, related_name="+", db_index=False)
    logger = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    rating = models.PositiveSmallIntegerField()
    # Microseconds since 1970 at the select's first frame, on the production's clock: the order of results.
    shot_at = models.BigIntegerField()
    milliseconds = models.PositiveBigIntegerField()  # how long the select is
    angled = models.BooleanField()  # a camera with another card was rolling at some moment of it
    words = models.TextField()  # folded, without accents, a space between two

    class Meta:
        indexes = [
            # With all that a row is asked for most, so that going through them reads the index alone.
            models.Index(
                fields=["production", "shot_at", "id", "card", "rating", "logger", "milliseconds", "angled"],
                name="review_find_shot",
            ),
            models.Index(fields=["production", "-rating", "shot_at", "id"], name="review_find_rating"),
            models.Index(fields=["card", "shot_at", "id"], name="review_find_card"),
        ]


class FindableWord(models.Model):
    """A word that some select of a production was once found by, to be offered when another is misspelt."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="+", db_index=False)
    word = models.CharField(max_length=60)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["production", "word"], name="one_word_a_production")]


class FindableCard(models.Model):
    """What a card and its clips were like when its selects were last made findable: see `findables.catch_up`."""

    card = models.OneToOneField(Card, models.CASCADE, primary_key=True, related_name="+")
    seen = models.CharField(max_length=200)


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
