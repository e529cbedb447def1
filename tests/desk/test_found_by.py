"""Why a select was found: words marked in its row, and what its row does not show."""

import uuid

import pytest

from review.marking import selecting, taking_notes
from review.marking.selecting import Mark
from review.models import FieldNote, Select
from review.record import findables
from tests.conftest import see

NOTES = b"date,timecode,text,tag\n2026-11-12,10:00:05:00,'At last Asta drops the flare, and all cheer',arrival\n"


@pytest.fixture
def page(cast, make_clip):
    """page(text) -> the selects page for two selects ten minutes apart, with a field note beside the first."""
    taking_notes.take(cast.owner, cast.kb04, NOTES.replace(b"'", b'"'))
    clip = make_clip(frames=25 * 900)
    for start, note in ((0, "Café, she laughs"), (25 * 600, "a gull <b>")):
        selecting.put(cast.logger, uuid.uuid4(), clip, Mark(start, start + 25, ("gate & sea",), note), 0)
    return lambda text: see(cast.editor, f"/selects/?production=KB04&text={text}")


def test_words_are_marked_where_they_stand(page):
    shown = page("cafe laughing gate")
    assert "<mark>Café</mark>, she <mark>laughs</mark>" in shown and "<mark>gate</mark> &amp; sea" in shown
    assert "a <mark>gull</mark> &lt;b&gt;" in page("gull")
    assert "<mark>A01</mark>" in page("a01") and "<mark>logger</mark>" in page("logger")
    assert "<mark>" not in page("")


def test_a_note_from_the_set_is_told_where_the_row_shows_no_such_word(page):
    assert "field note: At last Asta drops the <mark>flare</mark>, and all cheer" in page("flare laughs")
    assert "field note: <mark>arrival</mark>" in page("arrival")
    assert "field note" not in page("laughs") and "field note" not in page("gull")


def test_a_long_note_is_cut_around_the_word(page):
    FieldNote.objects.update(text=f"{'before ' * 20}flare {'after ' * 20}")
    shown = page("flare")
    assert "field note: …" in shown and "<mark>flare</mark> after" in shown and "after…" in shown
    assert shown.count("before") < 8


def test_another_cameras_note_is_not_told(page):
    FieldNote.objects.update(camera="B")
    assert "field note" not in page("flare")


def test_a_loggers_whole_name_is_told(cast, page):
    cast.logger.first_name, cast.logger.last_name = "Ilse", "Brandt"
    cast.logger.save()
    findables.keep(Select.objects.all())
    assert "logger: Ilse <mark>Brandt</mark>" in page("brandt")
