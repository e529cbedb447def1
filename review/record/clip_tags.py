"""Which tags each clip's selects have, kept: for a story's footage, and for how often a tag is used."""

from collections.abc import Collection

from django.db import transaction
from django.db.models import Count

from review.models import ClipTag, Select

_AT_ONCE = 500  # clips


def keep(clips: Collection[int]) -> None:
    """Count again, after selects of these clips or their tags were changed. In the same transaction, which must have
    locked the clips before it changed anything: whoever counts must see all that is counted."""
    ids = sorted(set(clips))
    with transaction.atomic():
        for at in range(0, len(ids), _AT_ONCE):
            _keep(ids[at : at + _AT_ONCE])


def _keep(clips: list[int]) -> None:
    tagged = Select.tags.through.objects.filter(select__clip__in=clips, select__deleted=None).order_by()
    now = {(clip, tag): many for clip, tag, many in tagged.values_list("select__clip", "tag").annotate(Count("id"))}
    known = ClipTag.objects.filter(clip__in=clips).values_list("clip", "tag", "selects", "id")
    before = {(clip, tag): (many, row) for clip, tag, many, row in known}
    ClipTag.objects.filter(id__in=[row for pair, (_, row) in before.items() if pair not in now]).delete()
    changed = [
        ClipTag(clip_id=pair[0], tag_id=pair[1], selects=many)
        for pair, many in now.items()
        if before.get(pair, (0,))[0] != many
    ]
    ClipTag.objects.bulk_create(
        changed, update_conflicts=True, unique_fields=["clip", "tag"], update_fields=["selects"]
    )
