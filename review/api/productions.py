from rest_framework import serializers

from review.api.base import HouseViewSet
from review.crew import access
from review.models import Production


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
