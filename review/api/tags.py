from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet, own_production
from review.crew import access
from review.marking import tagging
from review.models import Tag
from review.refusals import NotFound


class TagSerializer(serializers.ModelSerializer):
    """`former` are words that were renamed or merged into it and go on meaning it."""

    production = serializers.CharField(source="production.code")
    former = serializers.SerializerMethodField()

    class Meta:
        model = Tag
        fields = ("id", "production", "group", "name", "key", "former")

    def get_former(self, tag) -> list[str]:
        return [word.name for word in tag.former_words.all()]


class TagForm(serializers.Serializer):
    production = serializers.CharField(max_length=4)
    name = serializers.CharField(max_length=200)
    group = serializers.CharField(max_length=200, allow_blank=True, default="")


class TidyForm(serializers.Serializer):
    """What is left out stays as it is."""

    name = serializers.CharField(max_length=200, required=False)
    group = serializers.CharField(max_length=200, allow_blank=True, required=False)
    key = serializers.CharField(max_length=1, allow_blank=True, required=False)


class MergeForm(serializers.Serializer):
    tags = serializers.ListField(child=serializers.IntegerField(min_value=1, max_value=2**62), max_length=500)


class TagViewSet(HouseViewSet):
    """The words of a production's tag set: filter by `production` (code) and `group`."""

    visible = access.tags
    serializer_class = TagSerializer
    narrow = {"production": "production__code", "group": "group"}

    def get_queryset(self):
        return super().get_queryset().select_related("production").prefetch_related("former_words")

    @extend_schema(request=TagForm, responses={201: TagSerializer})
    def create(self, request):
        """Add a word. (A select that uses a new word adds it too.)"""
        given = self.given(TagForm)
        production = own_production(request.user, given["production"])
        made = tagging.add(request.user, production, given["name"], given["group"])
        return Response(self.show(self._fresh(made)), status.HTTP_201_CREATED)

    @extend_schema(request=TidyForm)
    def update(self, request, **_):
        """Rename the tag, move it to another group, give or take its key."""
        tag = tagging.change(request.user, self.get_object(), **self.given(TidyForm))
        return Response(self.show(self._fresh(tag)))

    def destroy(self, request, **_):
        """Take away a word that no select has."""
        tagging.remove(request.user, self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)

    @extend_schema(request=MergeForm)
    @action(detail=True, methods=["post"])
    def merge(self, request, **_):
        """Merge these tags into this one: a select that has any of them has this one, once."""
        into, ids = self.get_object(), self.given(MergeForm)["tags"]
        found = self.get_queryset().filter(production=into.production).in_bulk(ids)
        if missing := [each for each in ids if each not in found]:
            raise NotFound(f"{into.production.code} has no tag with the number {missing[0]}.", "tags")
        tagging.merge(request.user, list(found.values()), into)
        return Response(self.show(self._fresh(into)))

    def _fresh(self, tag: Tag) -> Tag:
        return self.get_queryset().get(id=tag.id)
