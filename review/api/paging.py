from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import remove_query_param, replace_query_param

from review.desk.finding import Found
from review.models import Select
from review.searching import pages


class Pages(PageNumberPagination):
    """`?page=2&page_size=200`, up to 500 a page."""

    page_size = 100
    page_size_query_param = "page_size"
    max_page_size = 500


class KeyPages(Pages):
    """Pages by key: follow `next` and `previous`, which stay true whatever is marked meanwhile and cost the same at
    any depth. `?page=2` still counts pages, for scripts that do. `count` goes as far as 1,000; `counted_all` says
    whether that is all."""

    MOST_COUNTED = pages.MOST_COUNTED
    _CURSORS = ("after", "before", "page")

    def paginate_found(self, found: Found, sort: str, request: Request) -> list[Select]:
        """The selects of the page that is asked for."""
        self.request, query = request, request.query_params
        self.count, self.counted_all = pages.count(found.rows, self.MOST_COUNTED, found.some)
        if "page" in query:
            rows = super().paginate_queryset(pages.shown(pages.ordered(found.rows, sort)), request)
            self.links = self.get_next_link(), self.get_previous_link()
            return [row.select for row in rows]
        cursors = {name: query.get(name, "") for name in ("after", "before")}
        page = pages.page(found.rows, sort, self.get_page_size(request), apart=found.apart, **cursors)
        self.links = self._link("after", page.after), self._link("before", page.before)
        return [row.select for row in page.rows]

    def get_paginated_response(self, data) -> Response:
        following, previous = self.links
        counted = {"count": self.count, "counted_all": self.counted_all}
        return Response({**counted, "next": following, "previous": previous, "results": data})

    def get_paginated_response_schema(self, schema: dict) -> dict:
        described = super().get_paginated_response_schema(schema)
        described["properties"]["counted_all"] = {"type": "boolean"}
        described["required"] = [*described["required"], "counted_all"]
        return described

    def get_schema_operation_parameters(self, view) -> list[dict]:
        cursors = [
            {"name": name, "in": "query", "required": False, "schema": {"type": "string"}, "description": words}
            for name, words in (("after", "As in `next`."), ("before", "As in `previous`."))
        ]
        return [*super().get_schema_operation_parameters(view), *cursors]

    def _link(self, name: str, cursor: str | None) -> str | None:
        if cursor is None:
            return None
        address = self.request.build_absolute_uri()
        for other in self._CURSORS:
            address = remove_query_param(address, other)
        return replace_query_param(address, name, cursor)
