"""What the viewsets share."""

from collections.abc import Callable

from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import Serializer

from review.crew import access
from review.refusals import Refusal


class HouseViewSet(viewsets.GenericViewSet):
    """Shows what the person may see. `visible` is a query of review.crew.access.

    `narrow` maps a query parameter to the lookup that it filters by, exactly.
    """

    visible: Callable
    narrow: dict[str, str] = {}
    lookup_value_regex = r"[^/.\0]+"

    def get_queryset(self) -> QuerySet:
        if getattr(self, "swagger_fake_view", False):
            return self.serializer_class.Meta.model.objects.none()
        return type(self).visible(self.request.user)

    def filter_queryset(self, rows: QuerySet) -> QuerySet:
        for parameter, lookup in self.narrow.items():
            value = self.request.query_params.get(parameter, "")
            if value:
                rows = self._narrowed(rows, parameter, lookup, value)
        return rows

    def _narrowed(self, rows: QuerySet, parameter: str, lookup: str, value: str) -> QuerySet:
        try:
            if "\0" in value or (parameter == "clip" and len(value) > 18):  # neither fits a database's columns
                raise ValueError
            return rows.filter(**{lookup: value})
        except (ValueError, ValidationError):
            raise Refusal(f"{value!a} cannot be a {parameter}; leave it out or correct it.", parameter) from None

    def show(self, row) -> dict:
        return self.get_serializer(row).data

    def list(self, request: Request) -> Response:
        rows = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(self.get_serializer(rows, many=True).data)

    def retrieve(self, request: Request, **_) -> Response:
        return Response(self.show(self.get_object()))

    def given(self, form: type[Serializer], data=None) -> dict:
        """The request's body, checked."""
        filled = form(data=self.request.data if data is None else data)
        filled.is_valid(raise_exception=True)
        return filled.validated_data


def own_production(person, code: str):
    production = access.productions(person).filter(code=code.replace("\0", "").upper()).first()
    if production is None:
        raise serializers.ValidationError({"production": f"There is no production {code!r} that you are a member of."})
    return production
