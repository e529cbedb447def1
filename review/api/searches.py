from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.response import Response

from review.api.base import HouseViewSet, own_production
from review.crew import access
from review.desk import searches
from review.models import NamedSearch


class SearchSerializer(serializers.ModelSerializer):
    """`query` is what follows the '?' of `/selects/`, on the page and here."""

    production = serializers.CharField(source="production.code")
    made_by = serializers.CharField(source="made_by.username")

    class Meta:
        model = NamedSearch
        fields = ("id", "production", "name", "query", "made_by", "created")


class SearchForm(serializers.Serializer):
    production = serializers.CharField(max_length=4)
    name = serializers.CharField(max_length=80)
    query = serializers.CharField(max_length=4000)


class SearchViewSet(HouseViewSet):
    """Searches that were given a name: filter by `production` (code) and `name`."""

    visible = access.searches
    serializer_class = SearchSerializer
    narrow = {"production": "production__code", "name": "name"}

    def get_queryset(self):
        return super().get_queryset().select_related("production", "made_by")

    @extend_schema(request=SearchForm, responses={201: SearchSerializer})
    def create(self, request):
        """Give a search a name, for everybody in the production."""
        given = self.given(SearchForm)
        production = own_production(request.user, given["production"])
        made = searches.name(request.user, production, given["name"], given["query"])
        return Response(self.show(made), status.HTTP_201_CREATED)

    @extend_schema(responses={204: None})
    def destroy(self, request, **_):
        """Forget a named search: whoever named it may, and an owner."""
        searches.forget(request.user, self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)
