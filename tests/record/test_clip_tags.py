"""Which tags a clip's selects have, kept: whatever is marked, deleted, brought back and merged, it is what a count of
all selects gives."""

import uuid
from collections import Counter

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from review.marking import selecting, tagging
from review.marking.selecting import Mark
from review.models import Clip, ClipTag, Select
from review.record import clip_tags
from tests.splits import lock_step

WORDS = ("gull", "net", "rope", "winch")
IDS = [uuid.UUID(int=number) for number in range(4)]
tags = st.lists(st.sampled_from(WORDS), max_size=3).map(tuple)
deeds = st.lists(
    st.one_of(
        st.tuples(st.just("put"), st.sampled_from(IDS), tags),
        st.tuples(st.just("delete"), st.sampled_from(IDS), st.just(())),
        st.tuples(st.just("merge"), st.sampled_from(WORDS), tags),
    ),
    max_size=12,
)


def counted(clip) -> Counter:
    selects = Select.objects.filter(clip=clip, deleted=None).prefetch_related("tags")
    return Counter(tag.name for select in selects for tag in select.tags.all())


def kept(clip) -> Counter:
    return Counter(dict(ClipTag.objects.filter(clip=clip).values_list("tag__name", "selects")))


def do(cast, clips, deed, which, words) -> None:
    if deed == "merge":
        of_set = {tag.name: tag for tag in cast.kb04.tags.all()}
        merged = [of_set[word] for word in words if word in of_set and word != which]
        if merged and which in of_set:
            tagging.merge(cast.owner, merged, of_set[which])
        return
    select = Select.objects.filter(id=which).first()
    if deed == "put":
        clip = clips[IDS.index(which) % 2]
        selecting.put(cast.logger, which, clip, Mark(0, 10, words), select.version if select else 0)
    elif select:
        selecting.delete(cast.logger, select)


@pytest.fixture
def clips(make_clip) -> list[Clip]:
    return [make_clip("A001C001"), make_clip("A001C002")]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(deeds)
def test_it_is_what_a_count_of_all_selects_gives(cast, clips, deeds):
    Select.objects.all().delete()
    cast.kb04.tags.all().delete()
    for clip in clips:
        clip_tags.keep([clip.id])
    for deed in deeds:
        do(cast, clips, *deed)
        assert [kept(clip) for clip in clips] == [counted(clip) for clip in clips]
        uses = {tag.name: tag.uses for tag in tagging.counted(cast.kb04) if tag.uses}
        assert uses == sum((counted(clip) for clip in clips), Counter())


@pytest.mark.django_db(transaction=True)
def test_so_it_is_after_people_marked_while_words_were_merged(cast, clips):
    """However it went: a mark may wait for the merge, and the merge may be asked for once more."""
    for number in range(20):
        words = (WORDS[number % 4], WORDS[number % 3])
        selecting.put(cast.logger, uuid.uuid4(), clips[number % 2], Mark(0, 10, words), 0)
    into, *others = cast.kb04.tags.order_by("id")

    def act(at: int) -> None:
        if at == 0:
            return tagging.merge(cast.owner, others[:2], into)
        for number in range(6):
            words = (WORDS[(at + number) % 4], "gull")
            selecting.put(cast.logger, uuid.uuid4(), clips[number % 2], Mark(0, 10, words), 0)

    lock_step(4, act)
    assert [kept(clip) for clip in clips] == [counted(clip) for clip in clips]
    assert sum(sum(kept(clip).values()) for clip in clips) >= 38
