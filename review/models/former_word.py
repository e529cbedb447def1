from django.db import models

from review.models.production import Production
from review.models.select import Tag


class FormerWord(models.Model):
    """A word that was renamed or merged away and still means the tag it became: browsers that have not heard of it yet,
    and people with the old word in their fingers, set the right one."""

    production = models.ForeignKey(Production, models.CASCADE, related_name="former_words")
    folded = models.CharField(max_length=180)  # as Tag.folded
    name = models.CharField(max_length=60)
    tag = models.ForeignKey(Tag, models.CASCADE, related_name="former_words")

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["production", "folded"], name="a_former_word_once")]

    def __str__(self):
        return self.name
