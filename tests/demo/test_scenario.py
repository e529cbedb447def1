"""The demo's data holds together: every mark is on a clip, every word in a tag set, every moment on its card."""

import re

import numpy as np
import pytest

from review import field_notes_csv
from review.cards.names import NameMisfit, parse_card_name
from review.demo import notes
from review.demo.days import LEFT_ALONE, SECOND_LOOKS, SITTINGS, marked_in
from review.demo.logbook import MARKS
from review.demo.painting import Picture, Stage
from review.demo.places import make_place, view_of
from review.demo.scenario import CARDS, MOMENTS, PAL, PEOPLE, PRODUCTIONS, card
from review.demo.voices import RATE, listen, talking


def test_card_names_are_card_names_but_for_the_misnamed_one():
    for each in CARDS:
        assert parse_card_name(each.name).production == each.name[:4]
    misnamed = [each.folder for each in CARDS if each.fault == "misnamed"]
    assert len(misnamed) == 1
    with pytest.raises(NameMisfit):
        parse_card_name(misnamed[0])


def test_every_start_is_a_timecode_of_its_card():
    for each in CARDS:
        for clip in each.clips:
            assert each.timebase.label(each.timebase.frame(clip.start)) == clip.start


def test_drop_frame_clips_cross_a_dropped_label():
    night = card("NR07-261113-A01")
    first = night.timebase.frame(night.clip("A001C002").start)
    labels = [night.timebase.label(first + frame) for frame in range(night.frames(night.clip("A001C002")))]
    assert "20:00:59;29" in labels and "20:01:00;02" in labels and "20:01:00;00" not in labels


def test_what_was_logged_is_on_its_clip():
    for entry in (*MARKS, *(seen for sitting in SITTINGS for seen in sitting.seen)):
        of = card(entry.card)
        assert 0 <= entry.in_frame < entry.out_frame <= of.frames(of.clip(entry.clip)), entry
    loggers = {person.login for person in PEOPLE if person.role == "logger"}
    assert {entry.logger for entry in (*MARKS, *SITTINGS, *LEFT_ALONE)} == loggers
    for entry in (*SECOND_LOOKS, *LEFT_ALONE):
        assert card(entry.card).clip(entry.clip)


def test_the_slots_of_a_sitting_hold_all_that_was_seen_in_order_and_nothing_twice():
    for sitting in SITTINGS:
        slots = list(sitting.slot_by_slot())
        assert len(slots) == sitting.slots and all(slots)
        told = [(seen.card, seen.clip, frame) for part in slots for seen in part for frame in _frames(seen)]
        assert told == [(seen.card, seen.clip, frame) for seen in sitting.seen for frame in _frames(seen)]


def _frames(seen):
    return range(seen.in_frame, seen.out_frame)


def test_every_mark_is_made_in_a_sitting_of_its_logger():
    made = [at for sitting in SITTINGS for part in sitting.slot_by_slot() for at in marked_in(sitting, part)]
    assert sorted(made) == list(range(len(MARKS)))


def test_marks_use_their_productions_tags():
    tags = {each.code: {tag for group in each.tags.values() for tag in group} for each in PRODUCTIONS}
    for mark in MARKS:
        assert set(mark.tags) <= tags[mark.card.split("-")[0]]


def test_every_setup_has_a_picture():
    views = {
        (MOMENTS[setup.moment].place, setup.view) for each in CARDS for clip in each.clips for setup in clip.setups
    }
    assert all(view_of(place, view) for place, view in views if view)


def test_the_clap_is_heard_where_it_is_seen():
    beats = {"clap": 100.0}
    sound = listen(99 * RATE, 2 * RATE, "dark", beats, 4).astype(int)
    loudest = int(np.abs(sound[:, 3]).argmax())
    assert abs(loudest - RATE) < RATE // 25
    place = make_place("slipway", Stage(320, 180), {"clap": 100.0, "haul": 105.0, "halt": 112.0})
    open_stick, shut_stick = Picture(320, 180), Picture(320, 180)
    place.paint(open_stick, 99.7)
    place.paint(shut_stick, 100.0)
    assert np.abs(open_stick.y.astype(int) - shut_stick.y).max() > 60


def test_two_recorders_of_one_moment_hear_the_same():
    long = listen(1000 * RATE, 8 * RATE, "portrait", {}, 4)
    late = listen(1003 * RATE, 2 * RATE, "portrait", {}, 4)
    assert np.abs(long[3 * RATE : 5 * RATE].astype(int) - late).max() <= 1


def test_channels_differ_and_speech_has_silences():
    sound = listen(1000 * RATE, 12 * RATE, "portrait", {}, 4).astype(float)
    for one in range(4):
        for other in range(one):
            assert np.abs(sound[:, one] - sound[:, other]).max() > 300
    levels = np.abs(sound[:, 1]).reshape(-1, RATE // 10).max(axis=1)
    silent = [
        talking(1000 + place / 10, 1) == 0 and talking(1000.1 + place / 10, 1) == 0 for place in range(len(levels))
    ]
    assert any(silent) and not all(silent)
    assert levels[silent].mean() < levels.max() / 5


def test_the_fixed_words_of_the_scenario_are_known():
    for each in CARDS:
        assert each.kind in {"mov", "mp4", "avchd", "sound"}
        assert each.checksums in {"", "ascmhl", "md5", "sha256", "xxh64", "xxh128"}
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", each.date)


def test_the_field_notes_of_the_demo_can_be_read():
    lines = field_notes_csv.read_csv(notes.CSV.encode(), PAL)
    assert len(lines) == notes.CSV.count("\n") - 1
    assert [line.problem for line in lines if line.problem] == []
