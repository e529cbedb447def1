from rest_framework import serializers

from review import access
from review.api.base import HouseViewSet
from review.models import Production, Tag


class ProductionSerializer(serializers.ModelSerializer):
    rate = serializers.CharField(source="timebase.rate")
    roles = serializers.SerializerMethodField()

    class Meta:
        model = Production
        fields = ("code", "title", "rate", "drop", "roles")

    def get_roles(self, production) -> list[str]:
        return sorted(access.roles_in(self.context["request"].user, production))


class ProductionViewSet(HouseViewSet):
    """The productions you are a member of, with your roles there."""

    visible = access.productions
    serializer_class = ProductionSerializer
    lookup_field = "code"


class TagSerializer(serializers.ModelSerializer):
    production = serializers.CharField(source="production.code")

    class Meta:
        model = Tag
        fields = ("id", "production", "group", "name", "key")


class TagViewSet(HouseViewSet):
    """The words of a production's tag set: filter by `production` (code) and `group`."""

    visible = access.tags
    serializer_class = TagSerializer
    narrow = {"production": "production__code", "group": "group"}

    def get_queryset(self):
        return super().get_queryset().select_related("production")
