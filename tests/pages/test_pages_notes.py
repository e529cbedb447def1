"""The field notes' page: look first, then take."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.conftest import browser_of, see

CSV = b"""date,timecode,camera,text
2026-11-12,10:00:01:00,A,gull <b>lands</b>
2026-11-12,15:00,,nobody
2026-99-12,1,,x
"""


@pytest.fixture
def upload(cast, a_clip):
    def send(person, data=CSV):
        file = SimpleUploadedFile("notes.csv", data)
        return browser_of(person).post("/notes/?production=KB04", {"file": file})

    return send


def test_it_works(upload, cast, a_clip):
    page = upload(cast.producer).content.decode()
    assert "1 tied to footage, 1 without footage so far, 1 that cannot be read" in page
    assert "gull &lt;b&gt;lands" in page and "is no date" in page
    assert not cast.kb04.field_notes.exists()
    previewed = re.search(r'name="previewed" value="([^"]+)"', page)[1]
    told = browser_of(cast.producer).post("/notes/?production=KB04", {"previewed": previewed}, follow=True)
    assert "2 field notes taken." in told.content.decode()
    said = see(cast.logger, "/notes/?production=KB04")
    assert f"/clips/{a_clip.id}/?frame=25" in said and "nothing, as far as cards have come" in said
    assert "Take notes from a CSV" not in said and "Delete" not in said
    assert "nobody" not in see(cast.logger, "/notes/?production=KB04&text=gull")


def test_a_file_that_is_no_csv_is_refused_in_words(upload, cast):
    told = upload(cast.owner, b"\xff\xfe\xfa")
    assert told.status_code == 400
    assert b"UTF-8" in told.content or b"must name the columns" in told.content


def test_a_preview_that_was_lost_is_refused(cast):
    told = browser_of(cast.owner).post("/notes/?production=KB04", {"previewed": "???"})
    assert told.status_code == 400 and b"choose the file again" in told.content


def test_no_file_is_refused(cast):
    assert b"Choose the CSV" in browser_of(cast.owner).post("/notes/?production=KB04", {}).content
