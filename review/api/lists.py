from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review import access, lists
from review.api.base import HouseViewSet, own_production
from review.models import SelectsList
from review.responses import download


class ListSerializer(serializers.ModelSerializer):
    production = serializers.CharField(source="production.code")
    made_by = serializers.CharField(source="made_by.username")
    selects = serializers.SerializerMethodField()

    class Meta:
        model = SelectsList
        fields = ("id", "production", "name", "made_by", "created", "modified", "version", "selects")

    def get_selects(self, selects_list) -> list[str]:
        return [str(entry.select_id) for entry in selects_list.entries.all() if entry.select.deleted is None]


class ListForm(serializers.Serializer):
    name = serializers.CharField(max_length=200)
    production = serializers.CharField(max_length=4)
    selects = serializers.ListField(child=serializers.UUIDField(), default=list)


class OrderForm(serializers.Serializer):
    name = serializers.CharField(max_length=200, required=False)
    selects = serializers.ListField(child=serializers.UUIDField(), required=False)
    version = serializers.IntegerField(min_value=0)


class AddForm(serializers.Serializer):
    selects = serializers.ListField(child=serializers.UUIDField())


class ListViewSet(HouseViewSet):
    """Selects lists: filter by `production` (code) and `name`."""

    visible = access.lists
    serializer_class = ListSerializer
    narrow = {"production": "production__code", "name": "name"}

    def get_queryset(self):
        return super().get_queryset().select_related("production", "made_by").prefetch_related("entries__select")

    @extend_schema(request=ListForm, responses={201: ListSerializer})
    def create(self, request):
        """Make a list of these selects, in this order."""
        given = self.given(ListForm)
        production = own_production(request.user, given["production"])
        made = lists.make(request.user, production, given["name"], given["selects"])
        return Response(self.show(self._fresh(made)), status.HTTP_201_CREATED)

    @extend_schema(request=OrderForm)
    def update(self, request, **_):
        """Give the list another name, or exactly these selects in this order. 409 when it changed since `version`."""
        given = self.given(OrderForm)
        changed = lists.change(
            request.user, self.get_object(), given["version"], name=given.get("name"), select_ids=given.get("selects")
        )
        return Response(self.show(self._fresh(changed)))

    @extend_schema(request=AddForm)
    @action(detail=True, methods=["post"])
    def add(self, request, **_):
        """Add selects at the end; those that are in the list already stay where they are."""
        selects_list = self.get_object()
        lists.add(request.user, selects_list, self.given(AddForm)["selects"])
        return Response(self.show(self._fresh(selects_list)))

    @extend_schema(
        parameters=[OpenApiParameter("as", str, enum=["edl", "csv", "otio"], required=True)],
        responses={(200, "application/octet-stream"): OpenApiTypes.BINARY},
    )
    @action(detail=True)
    def export(self, request, **_) -> HttpResponse:
        """The list as a file; several EDLs come in a zip."""
        kind = request.query_params.get("as", "")
        return download(lists.export_by(request.user, self.get_object(), kind))

    def _fresh(self, selects_list: SelectsList) -> SelectsList:
        return self.get_queryset().get(id=selects_list.id)
