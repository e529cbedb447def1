from django.db.models import Prefetch
from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet, own_production
from review.crew import access
from review.desk import arranging, exporting, lists
from review.exports import FORMATS, ExportFile
from review.exports.options import read_switch
from review.exports.pull import ExportRefused
from review.models import ListEntry, ListExport, SelectsList
from review.refusals import Refusal
from review.responses import download


class ListSerializer(serializers.ModelSerializer):
    """`selects` are in order; `sections` and `trims` say what they are in and how they are cut in this list.
    `handles` are milliseconds on both sides of every select."""

    production = serializers.CharField(source="production.code")
    made_by = serializers.CharField(source="made_by.username")
    selects = serializers.SerializerMethodField()
    sections = serializers.SerializerMethodField()
    trims = serializers.SerializerMethodField()
    merge = serializers.SerializerMethodField()

    class Meta:
        model = SelectsList
        fields = (
            *("id", "production", "name", "made_by", "created", "modified", "version", "handles", "merge"),
            *("selects", "sections", "trims"),
        )

    def get_selects(self, selects_list) -> list[str]:
        return [str(entry.select_id) for entry in _shown(selects_list)]

    def get_sections(self, selects_list) -> list[dict]:
        """Each with its `id`, `title` and `selects`; those before the first are in none."""
        inside: dict[int, list[str]] = {}
        for entry in _shown(selects_list):
            inside.setdefault(entry.section_id, []).append(str(entry.select_id))
        return [
            {"id": each.id, "title": each.title, "selects": inside.get(each.id, [])}
            for each in selects_list.sections.all()
        ]

    def get_trims(self, selects_list) -> dict[str, list[int]]:
        """Select -> [in_frame, out_frame) where the list cuts it otherwise than it was marked."""
        return {
            str(entry.select_id): [entry.in_frame, entry.out_frame]
            for entry in _shown(selects_list)
            if entry.in_frame is not None
        }

    def get_merge(self, selects_list) -> bool:
        return bool(selects_list.options.get("merge"))


def _shown(selects_list: SelectsList) -> list[ListEntry]:
    """The entries that are not deleted, in order: a list of lists has them at hand."""
    if not hasattr(selects_list, "shown"):
        selects_list.shown = list(selects_list.entries.filter(select__deleted=None))
    return selects_list.shown


class ExportSerializer(serializers.ModelSerializer):
    made_by = serializers.CharField(source="made_by.username", default=None)
    size = serializers.SerializerMethodField()
    url = serializers.SerializerMethodField()
    events = serializers.SerializerMethodField()

    class Meta:
        model = ListExport
        fields = ("number", "made_by", "made_at", "kind", "options", "name", "size", "sha256", "events", "url")

    def get_size(self, export) -> int:
        return getattr(export, "size", None) or len(export.content)

    def get_events(self, export) -> int:
        return len(export.events)

    def get_url(self, export) -> str:
        """Where the bytes are, as they went out."""
        return reverse("api-lists-version", args=[export.list_id, export.number])


class ListForm(serializers.Serializer):
    name = serializers.CharField(max_length=200)
    production = serializers.CharField(max_length=4)
    selects = serializers.ListField(child=serializers.UUIDField(), default=list)


class OrderForm(serializers.Serializer):
    name = serializers.CharField(max_length=200, required=False)
    selects = serializers.ListField(child=serializers.UUIDField(), required=False)
    version = serializers.IntegerField(min_value=0)


class AddForm(serializers.Serializer):
    selects = serializers.ListField(child=serializers.UUIDField(), required=False)
    found = serializers.DictField(
        child=serializers.CharField(allow_blank=True),
        required=False,
        help_text="Filters, as of the selects: everything that fits them is added.",
    )

    def validate(self, given):
        if not given.keys() & {"selects", "found"}:
            raise serializers.ValidationError({"selects": "Say which selects to add, or the filters that find them."})
        return given


class EditForm(serializers.Serializer):
    """One change. `do` says which, and with it go: `move` selects, before | section; `take-out` selects; `trim` selects
    (one), in_frame, out_frame; `sort` by; `settle` handles, merge; `section` title, before; `rename-section` section,
    title; `remove-section` section; `move-section` section, steps."""

    version = serializers.IntegerField(min_value=0)
    do = serializers.ChoiceField(
        ["move", "take-out", "trim", "sort", "settle", "section", "rename-section", "remove-section", "move-section"]
    )
    selects = serializers.ListField(child=serializers.UUIDField(), default=list)
    before = serializers.UUIDField(allow_null=True, default=None)
    section = serializers.IntegerField(allow_null=True, default=None, min_value=0, max_value=2**62)
    title = serializers.CharField(default="", allow_blank=True)
    in_frame = serializers.IntegerField(allow_null=True, default=None, min_value=-(2**31), max_value=2**31)
    out_frame = serializers.IntegerField(allow_null=True, default=None, min_value=-(2**31), max_value=2**31)
    by = serializers.CharField(default="")
    handles = serializers.IntegerField(allow_null=True, default=None, min_value=-(2**31), max_value=2**31)
    merge = serializers.BooleanField(allow_null=True, default=None)
    steps = serializers.ChoiceField([-1, 1], default=1)


class ExportForm(serializers.Serializer):
    """What to export, and how; see review.exports.options for the choices."""

    # `as` is a word of Python's own, so these are named in the table that the class is made from.
    vars().update(
        {
            "as": serializers.ChoiceField(list(FORMATS)),
            "new": serializers.BooleanField(default=False, help_text="Only what you have not pulled before."),
        }
    )
    channels = serializers.CharField(default="", allow_blank=True)
    order = serializers.CharField(default="", allow_blank=True)
    start = serializers.CharField(default="", allow_blank=True)
    rate = serializers.CharField(default="", allow_blank=True)
    reels = serializers.CharField(default="", allow_blank=True)
    table = serializers.BooleanField(default=False)
    columns = serializers.ListField(child=serializers.CharField(), default=list)


class RemarkSerializer(serializers.Serializer):
    """`weight` is `stop` (it cannot be made), `lost` (something is not in it) or `told`; `places` count from 1."""

    weight = serializers.CharField()
    words = serializers.CharField()
    places = serializers.ListField(child=serializers.IntegerField())
    count = serializers.IntegerField()


_AS = OpenApiParameter("as", str, enum=list(FORMATS), required=True)
_OPTIONS = [
    OpenApiParameter("new", bool, description="Only what you have not pulled before."),
    OpenApiParameter("channels", str, description="`clip` (as each clip has them) or a code, such as `AA/V`."),
    OpenApiParameter("order", str, enum=["record", "source"]),
    OpenApiParameter("start", str, description="The record timecode of the first event."),
    OpenApiParameter("rate", str, description="The record rate, such as `25` or `29.97DF`; else each source's own."),
    OpenApiParameter("reels", str, enum=["short", "long"]),
    OpenApiParameter("table", bool, description="Write the table of reels, card folders and files."),
    OpenApiParameter("columns", str, description="Of the CSV, separated by commas."),
]
_FILE = {(200, "application/octet-stream"): OpenApiTypes.BINARY}


class ListViewSet(HouseViewSet):
    """Selects lists: filter by `production` (code) and `name`."""

    visible = access.lists
    serializer_class = ListSerializer
    narrow = {"production": "production__code", "name": "name"}

    def get_queryset(self):
        rows = super().get_queryset().select_related("production", "made_by")
        shown = ListEntry.objects.filter(select__deleted=None)
        return rows.prefetch_related(Prefetch("entries", shown, to_attr="shown"), "sections")

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
        """Add selects at the end, or all that a search finds; those that are in the list already stay where they
        are, and `added` counts the others. This is never refused for what somebody else changes."""
        selects_list, given = self.get_object(), self.given(AddForm)
        added = lists.add_found(request.user, selects_list, given["found"]) if "found" in given else 0
        added += lists.add(request.user, selects_list, given.get("selects", []))
        return Response({**self.show(self._fresh(selects_list)), "added": added})

    @extend_schema(request=EditForm)
    @action(detail=True, methods=["post"])
    def edit(self, request, **_):
        """Change one thing in the list. 409 with `current` when it changed since `version`: send it again with the
        version that is current, or leave it."""
        given = self.given(EditForm)
        changed, said = _edit(request.user, self.get_object(), given)
        return Response({**self.show(self._fresh(changed)), "said": said})

    @extend_schema(parameters=[_AS, *_OPTIONS], responses=_FILE)
    @action(detail=True)
    def export(self, request, **_) -> HttpResponse:
        """The list as a file, which is kept as a version; several EDLs come in a zip."""
        kind, options, only_new = self._wanted()
        return _download(exporting.export_by(request.user, self.get_object(), kind, options, only_new=only_new))

    @extend_schema(parameters=[_AS, *_OPTIONS], responses=RemarkSerializer(many=True))
    @action(detail=True, pagination_class=None)
    def preflight(self, request, **_):
        """Everything that the format cannot carry of the list as it is. Nothing is exported."""
        kind, options, only_new = self._wanted()
        remarks = exporting.check(request.user, self.get_object(), kind, options, only_new=only_new)
        return Response(RemarkSerializer(remarks, many=True).data)

    @extend_schema(methods=["get"], responses=ExportSerializer(many=True))
    @extend_schema(methods=["post"], request=ExportForm, responses={201: ExportSerializer})
    @action(detail=True, methods=["get", "post"])
    def exports(self, request, **_):
        """The versions that were exported, the newest first; a POST makes another."""
        selects_list = self.get_object()
        if request.method == "POST":
            given = self.given(ExportForm)
            options = exporting.read_options({**given, "table": "yes" if given["table"] else ""})
            made = exporting.export_by(request.user, selects_list, given["as"], options, only_new=given["new"])
            return Response(ExportSerializer(made).data, status.HTTP_201_CREATED)
        rows = self.paginate_queryset(exporting.versions(selects_list))
        return self.get_paginated_response(ExportSerializer(rows, many=True).data)

    @extend_schema(responses=_FILE)
    @action(detail=True, url_path=r"exports/(?P<number>[^/.\0]+)", url_name="version")
    def version(self, request, number: str, **_) -> HttpResponse:
        """An export again, byte for byte as it went out."""
        if not (number.isascii() and number.isdecimal() and len(number) < 10):
            raise Refusal(f"{number[:20]!a} is not the number of an export.", "number")
        return _download(exporting.kept(self.get_object(), int(number)))

    def _wanted(self):
        query = self.request.query_params
        try:
            only_new = read_switch("new", query.get("new", ""))
        except ExportRefused as problem:
            raise Refusal(str(problem), "new") from None
        return query.get("as", ""), exporting.read_options(query), only_new

    def _fresh(self, selects_list: SelectsList) -> SelectsList:
        return self.get_queryset().get(id=selects_list.id)


def _download(kept: ListExport) -> HttpResponse:
    response = download(ExportFile(kept.name, kept.content, kept.content_type))
    response["X-Export-Number"] = str(kept.number)
    return response


def _edit(person, selects_list: SelectsList, given: dict) -> tuple[SelectsList, str]:
    about = (person, selects_list, given["version"])
    selects, section = given["selects"], given["section"]
    if given["do"] == "trim":
        if len(selects) != 1:
            raise Refusal("One select is trimmed at a time.", "selects")
        return arranging.trim(*about, selects[0], given["in_frame"], given["out_frame"])
    ways = {
        "move": lambda: arranging.move(*about, selects, before=given["before"], section=section),
        "take-out": lambda: arranging.take_out(*about, selects),
        "sort": lambda: arranging.sort(*about, given["by"]),
        "settle": lambda: lists.settle(*about, handles=given["handles"], merge=given["merge"]),
        "section": lambda: arranging.add_section(*about, given["title"], given["before"]),
        "rename-section": lambda: arranging.rename_section(*about, section, given["title"]),
        "remove-section": lambda: arranging.remove_section(*about, section),
        "move-section": lambda: arranging.move_section(*about, section, given["steps"]),
    }
    return ways[given["do"]](), ""
