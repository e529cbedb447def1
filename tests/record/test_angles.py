"""Other angles of a moment. Labels are SMPTE ST 12-1's; that cameras set together show one label is common practice."""

import random
import uuid
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.clock import DAY, frame_at, time_of
from review.marking import card_clocks, carrying, selecting
from review.models import Card, Clip
from review.record import angles
from review.refusals import NotAllowed, Refusal
from review.timecode import STANDARD_RATES, Rate, Timebase
from tests.conftest import check, work_off
from tests.media.test_sync import heard, scene, write

DROP = Timebase(Rate(30000, 1001), drop=True)
BASES = [Timebase(rate) for rate in STANDARD_RATES] + [DROP, Timebase(Rate(60000, 1001), drop=True)]


@given(st.sampled_from(BASES), st.integers(0, 10_000_000))
def test_every_frame_is_found_again_at_its_time(timebase, frame):
    assert frame_at(timebase, time_of(timebase, frame)) == frame


def test_labels_that_drop_frame_skips_stand_for_the_next():
    assert DROP.label(frame_at(DROP, Fraction(60))) == "00:01:00;02"
    assert frame_at(Timebase(Rate(25)), Fraction(-1, 25)) == -1
    assert time_of(Timebase(Rate(25)), 2_160_000) == DAY


@pytest.fixture
def two(make_clip):
    """A and B rolled together; B began two seconds later and ran to twice the frames a second."""
    a = make_clip(card="KB04-261112-A01", start="10:00:00:00", frames=250)
    b = make_clip(card="KB04-261112-B01", timebase=Timebase(Rate(50)), start="10:00:02:00", frames=200)
    return a, b


def places(found):
    return [(each.clip.card.camera, each.in_frame, each.out_frame) for each in found]


def test_it_works(two, make_clip):
    a, b = two
    sound = make_clip("T001", card="KB04-261112-S01", start="09:59:00:00", frames=25 * 300, kind="sound")
    make_clip(card="KB04-261112-C01", start="11:00:00:00")
    assert places(angles.of(a, 75)) == [
        ("B", 50, 52),
        ("S", 1575, 1576),
    ]
    assert places(angles.of(b, 50)) == [("A", 75, 76), ("S", 1575, 1576)]
    assert places(angles.of(a, 10)) == [("S", 1510, 1511)]
    assert angles.of(sound, 0) == []


def test_the_database_narrows_to_what_reckoning_over_all_clips_finds(make_clip):
    """Of every rate, on three days, with clocks that were set: against the exact reckoning over every clip there is."""
    chance = random.Random(12)
    clips = []
    for number in range(1, 10):
        clip = make_clip(card=f"KB04-2611{chance.choice((11, 12, 13))}-B{number:02}", start="00:00:00:00")
        offset = Fraction(chance.randrange(-4000, 4000), 3)
        Card.objects.filter(id=clip.card_id).update(
            clock_numerator=offset.numerator, clock_denominator=offset.denominator, clock_set=number % 2
        )
        for take in range(15):
            base = chance.choice(BASES)
            day = base.frames_per_day
            clips.append(
                copy(
                    clip,
                    name=f"T{take}",
                    rate_numerator=base.rate.numerator,
                    rate_denominator=base.rate.denominator,
                    drop=base.drop,
                    start_frame=chance.choice((0, day // 2, day - 900)) + chance.randrange(900),
                    frames=chance.choice((1, 60, 700, day // 40)),
                    timecode_source="" if take == 3 else "clip XML",
                )
            )
    Clip.objects.bulk_create(clips)
    found = 0
    for clip in chance.sample(list(Clip.objects.select_related("card")), 40):
        for asked in ((0, clip.frames), (clip.frames - 1, None)):
            wanted = reckoned(clip, *asked)
            assert places(angles.of(clip, *asked)) == wanted
            found += len(wanted)
    assert found > 80, "it was compared where there is something to find"


def copy(clip: Clip, **changes) -> Clip:
    fields = {each.attname: getattr(clip, each.attname) for each in Clip._meta.concrete_fields if not each.primary_key}
    return Clip(**{**fields, **changes})


def reckoned(clip: Clip, in_frame: int, out_frame: int | None):
    """The angles by going through all clips of the days beside it."""
    start, end = angles.time_on(clip, in_frame), angles.time_on(clip, out_frame or in_frame + 1)
    found = []
    for other in angles.shot_near(clip.card.production, clip.card.shoot_date) if angles.has_time(clip) else []:
        later = (other.card.shoot_date - clip.card.shoot_date).days * DAY
        first, last = angles.frame_on(other, start - later), angles.frame_on(other, end - later)
        first, last = max(0, first), min(other.frames, max(last, first + 1))
        if first < last and other.id != clip.id:
            found.append((other.card.camera, first, last))
    return found


def test_over_midnight_and_on_the_next_days_card(make_clip):
    a = make_clip(card="KB04-261112-A01", start="23:59:59:00", frames=250)
    b = make_clip(card="KB04-261113-B01", start="00:00:00:00", frames=100)
    assert places(angles.of(a, 30)) == [("B", 5, 6)]
    assert places(angles.of(b, 5)) == [("A", 30, 31)]


def test_a_clip_without_timecode_is_no_angle_until_its_clock_is_set(two, cast):
    a, b = two
    b.timecode_source = ""
    b.start_frame = 0
    b.save()
    assert angles.of(a, 75) == []
    offset = card_clocks.set_by_clap(cast.logger, b, 10, a, 80)
    assert offset == 10 * 3600 + Fraction(80, 25) - Fraction(10, 50)
    assert places(angles.of(a, 80)) == [("B", 10, 12)]


def test_a_clap_sets_the_clock_of_one_card_for_all_its_clips(two, make_clip, cast):
    a, b = two
    later = make_clip("C002", card="KB04-261112-B01", timebase=Timebase(Rate(50)), start="10:01:02:00", frames=500)
    card_clocks.set_by_clap(cast.logger, b, 0, a, 100)  # B's clock was two seconds slow
    assert Card.objects.get(camera="B").clock_offset == 2
    a.refresh_from_db()
    long = make_clip("C002", card="KB04-261112-A01", start="10:01:00:00", frames=250)
    assert places(angles.of(long, 100)) == [("B", 0, 2)]
    assert angles.of(long, 100)[0].clip == later
    b.card.refresh_from_db()
    card_clocks.clear(cast.logger, b.card)
    assert places(angles.of(long, 50)) == [("B", 0, 2)]


def test_a_clap_on_one_card_or_past_a_clip_is_refused(two, cast):
    a, b = two
    with pytest.raises(Refusal, match="two cards"):
        card_clocks.set_by_clap(cast.logger, a, 0, a, 1)
    with pytest.raises(Refusal, match="no frame 999"):
        card_clocks.set_by_clap(cast.logger, a, 999, b, 1)
    with pytest.raises(NotAllowed):
        card_clocks.set_by_clap(cast.media_manager, a, 0, b, 1)
    with pytest.raises(Refusal, match="14 hours"):
        card_clocks.set_offset(cast.logger, a.card, Fraction(15 * 3600))


def test_a_select_is_carried_to_the_other_angles_once(two, cast):
    a, b = two
    select = selecting.put(cast.logger, uuid.uuid4(), a, selecting.Mark(40, 125, ("gull",), "it lands", 4), 0)
    (carried,) = carrying.carry(cast.logger, select)
    assert (carried.clip, carried.in_frame, carried.out_frame) == (b, 0, 150), "from B's first frame on"
    assert (carried.carried_from, carried.note, carried.rating) == (select, "it lands", 4)
    assert [tag.name for tag in carried.tags.all()] == ["gull"]
    assert carrying.carry(cast.editor, select) == [carried]
    selecting.delete(cast.logger, carried)
    (again,) = carrying.carry(cast.logger, select)
    assert again.id == carried.id and again.deleted is None


def test_only_the_angles_asked_for(two, make_clip, cast):
    a, _ = two
    sound = make_clip("T001", card="KB04-261112-S01", start="09:59:00:00", frames=25 * 300, kind="sound")
    select = selecting.put(cast.logger, uuid.uuid4(), a, selecting.Mark(60, 70), 0)
    assert [each.clip for each in carrying.carry(cast.logger, select, [sound.id])] == [sound]
    with pytest.raises(NotAllowed):
        carrying.carry(cast.media_manager, select)


def test_a_clock_is_suggested_by_sound(root, cast):
    sound = scene()
    for name, start, seed in (("KB04-261112-S01", 0, 2), ("KB04-261112-S02", 2.5, 3)):
        folder = root / name
        folder.mkdir()
        part = sound[int(start * 48000) : int((start + 12) * 48000)]
        write(folder / "T001.WAV", heard(part, seed))
        check(folder, cast.kb04)
    work_off()
    first, second = (card.clips.get() for card in Card.objects.order_by("name"))
    # Both clocks say midnight at their first sample, but the second began two and a half seconds later.
    offset, sureness = card_clocks.suggest(cast.logger, second, first)
    assert abs(offset - Fraction(5, 2)) <= Fraction(1, 50) and sureness > 0.5
    second.card.refresh_from_db()
    assert not second.card.clock_set, "a suggestion changes nothing"
