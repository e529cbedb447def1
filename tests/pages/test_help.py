"""The page "How to log": a walk whose pictures are there, as big as the page says, and light enough for a bad line."""

import re
from pathlib import Path

from django.conf import settings
from PIL import Image

from tests.conftest import browser_of

PICTURES = Path(settings.BASE_DIR) / "review" / "static" / "review" / "help"
PICTURE = re.compile(r'<img src="[^"]*/review/help/([a-z]+\.jpg)" width="(\d+)" height="(\d+)" alt="([^"]+)">')


def test_somebody_reads_it_and_every_picture_is_there(cast):
    page = browser_of(cast.logger).get("/help/").content.decode()
    shown = PICTURE.findall(page)
    assert len(shown) == page.count("/review/help/") > 5
    for name, width, height, words in shown:
        with Image.open(PICTURES / name) as picture:
            assert picture.size == (int(width), int(height)), name
        assert len(words) > 30, "it says what is on it"
    assert {name for name, *_ in shown} == {each.name for each in PICTURES.iterdir()}


def test_the_pictures_are_light():
    sizes = [each.stat().st_size for each in PICTURES.iterdir()]
    assert max(sizes) < 120_000
    assert sum(sizes) < 800_000


def test_who_has_no_role_here_reads_it_too(cast):
    assert browser_of(cast.stranger).get("/help/").status_code == 200


def test_who_is_not_signed_in_is_sent_to_sign_in(client, db):
    answer = client.get("/help/")
    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/sign-in/")
