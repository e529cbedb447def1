import uuid

from django.db.models import prefetch_related_objects
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from review.api.base import HouseViewSet
from review.api.paging import KeyPages
from review.crew import access
from review.desk import finding, usage
from review.marking import carrying, selecting
from review.models import Select, WorthKeeping
from review.refusals import NotFound, Refusal
from review.searching import wanted


class ManySelects(serializers.ListSerializer):
    def to_representation(self, data):
        selects = list(data.all() if hasattr(data, "all") else data)
        usage.tell(selects)
        prefetch_related_objects(selects, "worth_keeping")
        return super().to_representation(selects)


class KeptSerializer(serializers.ModelSerializer):
    """People: unknown, none or recognisable."""

    class Meta:
        model = WorthKeeping
        fields = ["people", "rights"]


class SelectSerializer(serializers.ModelSerializer):
    """Frames [in_frame, out_frame) of the clip; `source_in` and `source_out` are their source timecodes. `in_cuts`
    names the cuts that came back and use a frame of it; `worth_keeping` is null where it is not flagged."""

    card = serializers.CharField(source="clip.card.name")
    clip_name = serializers.CharField(source="clip.name")
    file = serializers.SerializerMethodField()
    logger = serializers.CharField(source="logger.username")
    tags = serializers.SerializerMethodField()
    source_in = serializers.SerializerMethodField()
    source_out = serializers.SerializerMethodField()
    deleted = serializers.SerializerMethodField()
    carried_from = serializers.UUIDField(source="carried_from_id", read_only=True)
    in_cuts = serializers.SerializerMethodField()
    worth_keeping = serializers.SerializerMethodField()

    class Meta:
        model = Select
        list_serializer_class = ManySelects
        fields = [
            "id",
            "clip",
            "in_frame",
            "out_frame",
            "tags",
            "note",
            "rating",
            "version",
            "card",
            "clip_name",
            "file",
            "source_in",
            "source_out",
            "logger",
            "created",
            "modified",
            "deleted",
            "carried_from",
            "in_cuts",
            "worth_keeping",
        ]

    def get_file(self, select) -> str:
        return select.clip.files_of(select.in_frame, select.out_frame)[0][0]

    def get_tags(self, select) -> list[str]:
        return [tag.name for tag in select.tags.all()]

    def get_source_in(self, select) -> str:
        return select.clip.label(select.in_frame)

    def get_source_out(self, select) -> str:
        return select.clip.label(select.out_frame)

    def get_deleted(self, select) -> bool:
        return select.deleted is not None

    def get_in_cuts(self, select) -> list[str]:
        return usage.cuts_of(select)

    @extend_schema_field(KeptSerializer(allow_null=True))
    def get_worth_keeping(self, select):
        kept = getattr(select, "worth_keeping", None)
        return kept and KeptSerializer(kept).data


class SelectForm(serializers.Serializer):
    clip = serializers.IntegerField(min_value=1, max_value=2**62)
    in_frame = serializers.IntegerField()
    out_frame = serializers.IntegerField()
    tags = serializers.ListField(child=serializers.CharField(allow_blank=True, trim_whitespace=True), default=list)
    note = serializers.CharField(allow_blank=True, trim_whitespace=False, default="")
    rating = serializers.IntegerField(default=0)
    version = serializers.IntegerField(min_value=0, default=0)

    def to_internal_value(self, data):
        # Control characters are taken out of notes and tags later (selecting.py); the field would refuse a NUL.
        if isinstance(data, dict) and isinstance(data.get("note"), str):
            data = {**data, "note": data["note"].replace("\0", "")}
        return super().to_internal_value(data)


def _read_id(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        raise Refusal(f"{text!a} is not a UUID; a new select's id is one that you make.", "id") from None


class DeleteForm(serializers.Serializer):
    version = serializers.IntegerField(min_value=0, required=False)


class CarryForm(serializers.Serializer):
    to = serializers.ListField(child=serializers.IntegerField(min_value=1), required=False, max_length=500)


class SelectViewSet(HouseViewSet):
    """Selects, in the order they were shot: filter by `production`, `card`, `clip`, `camera`, `date`, `day` (the nth),
    `since` and `until` (times of day), `tag` (all of these, separated by commas), `tag_any`, `tag_none`, `rating` (or
    better), `logger`, `longer` and `shorter` (seconds), `seen=twice`, `pulled=no` or `unlisted`, `cut=yes` or
    `no`, `angles=yes`, `keep=yes` and `text` (words in any order, or their beginnings); sort by `shot`, `newest` or
    `rating`."""

    visible = access.selects
    serializer_class = SelectSerializer
    pagination_class = KeyPages

    def get_queryset(self):
        return super().get_queryset().select_related("clip__card__production", "logger").prefetch_related("tags")

    def list(self, request):
        asked = wanted.read(request.query_params)
        found = finding.find(access.productions(request.user), asked)
        rows = self.paginator.paginate_found(found, asked.sort, request)
        return self.get_paginated_response(self.get_serializer(rows, many=True).data)

    @extend_schema(request=SelectForm)
    def update(self, request, pk, **_):
        """Make a select (version 0) or change it. Putting the same thing twice is putting it once; a deleted
        select that is put comes back. 409 with `current` when somebody else changed it since `version`."""
        select_id = _read_id(pk)
        given = self.given(SelectForm)
        clip = access.clips(request.user).select_related("card__production").filter(id=given["clip"]).first()
        if clip is None:
            raise NotFound("There is no such clip, or it is in a production you are not a member of.", "clip")
        mark = selecting.Mark(
            given["in_frame"], given["out_frame"], tuple(given["tags"]), given["note"], given["rating"]
        )
        select = selecting.put(request.user, select_id, clip, mark, given["version"])
        return Response(self.show(self._fresh(select)))

    @extend_schema(request=DeleteForm, responses=SelectSerializer)
    def destroy(self, request, pk, **_):
        """Delete a select, if it still is at `version` (when given). It is kept: put it again, from the
        version that is answered, and it is back."""
        version = self.given(DeleteForm).get("version")
        select = selecting.delete(request.user, self.get_object(), version)
        return Response(self.show(self._fresh(select)))

    @extend_schema(request=CarryForm, responses=SelectSerializer(many=True))
    @action(detail=True, methods=["post"], pagination_class=None)
    def carry(self, request, **_):
        """Carry the select to the other angles of its moment, or to the clips that are named. Twice is once."""
        carried = carrying.carry(request.user, self.get_object(), self.given(CarryForm).get("to"))
        return Response(self.get_serializer([self._fresh(select) for select in carried], many=True).data)

    def _fresh(self, select: Select) -> Select:
        return self.get_queryset().get(id=select.id)
