"""Small stills: cut from the right place of the right sheet, kept, made anew with the sheet, and never a way out."""

import io
import os

import numpy as np
import pytest
from PIL import Image

from review.derived import stills
from review.refusals import NotFound
from review.work.workshop import media_folder
from tests.conftest import browser_of

STRIP = {
    **{"every": 25, "count": 14, "columns": 3, "rows": 4, "picture_width": 32, "picture_height": 18},
    "files": ["filmstrip-001.jpg", "filmstrip-002.jpg"],
}


def draw_sheets(clip, brighter: int = 0) -> None:
    """Picture n is all of the grey 10 * n (+ brighter)."""
    folder = media_folder(clip.id)
    folder.mkdir(parents=True, exist_ok=True)
    for sheet, name in enumerate(STRIP["files"]):
        picture = np.zeros((4 * 18, 3 * 32), dtype=np.uint8)
        for place in range(12):
            row, column = divmod(place, 3)
            picture[row * 18 : row * 18 + 18, column * 32 : column * 32 + 32] = min(
                255, 10 * (12 * sheet + place) + brighter
            )
        Image.fromarray(picture).save(folder / name, quality=95)


@pytest.fixture
def clip(make_clip):
    clip = make_clip(frames=350, filmstrip=STRIP)
    draw_sheets(clip)
    return clip


def grey(content: bytes) -> tuple[tuple[int, int], int]:
    picture = Image.open(io.BytesIO(content)).convert("L")
    return picture.size, round(np.asarray(picture).mean() / 10)


def test_it_works(clip):
    assert [grey(stills.still(clip, number)) for number in range(14)] == [((32, 18), number) for number in range(14)]
    assert [grey(stills.still(clip, number)) for number in (0, 13)] == [((32, 18), 0), ((32, 18), 13)]  # as kept


@pytest.mark.parametrize(
    ("start", "end", "pictures"), [(0, 350, [0, 6, 13]), (0, 10, [0]), (24, 26, [0, 1]), (340, 999, [13])]
)
def test_the_three_of_a_select(clip, start, end, pictures):
    assert stills.three(clip, start, end) == pictures


def test_a_clip_without_a_filmstrip_has_none(make_clip):
    assert stills.three(make_clip(), 0, 10) == []


def test_a_sheet_that_was_made_anew_is_cut_anew(clip):
    assert grey(stills.still(clip, 3))[1] == 3
    draw_sheets(clip, brighter=100)
    later = os.stat(media_folder(clip.id) / stills.FOLDER / "3.jpg").st_mtime + 5
    for name in STRIP["files"]:
        os.utime(media_folder(clip.id) / name, (later, later))
    assert grey(stills.still(clip, 3))[1] == 13


def test_nothing_is_kept_where_nothing_can_be(clip):
    (media_folder(clip.id) / stills.FOLDER).write_text("a file where the folder would be")
    assert grey(stills.still(clip, 5))[1] == 5


@pytest.mark.parametrize("number", [-1, 14, 10**9])
def test_there_is_no_picture_beyond_the_last(clip, number):
    with pytest.raises(NotFound, match="no such picture"):
        stills.still(clip, number)


@pytest.mark.parametrize("content", [b"", b"not a picture", b"\xff\xd8\xff\xe0" + bytes(200)])
def test_a_sheet_that_is_damaged_or_gone_is_said_to_be_so(clip, content):
    sheet = media_folder(clip.id) / STRIP["files"][0]
    sheet.write_bytes(content)
    with pytest.raises(NotFound, match="being made again"):
        stills.still(clip, 0)
    sheet.unlink()
    with pytest.raises(NotFound, match="being made again"):
        stills.still(clip, 0)


def test_the_page_gets_small_pictures_not_sheets(cast, clip):
    answer = browser_of(cast.logger).get(f"/clips/{clip.id}/stills/7.jpg")
    assert (answer.status_code, answer["Content-Type"], grey(answer.content)[1]) == (200, "image/jpeg", 7)
    assert "private" in answer["Cache-Control"]
    assert browser_of(cast.stranger).get(f"/clips/{clip.id}/stills/7.jpg").status_code == 404
    assert browser_of(cast.logger).get(f"/clips/{clip.id}/stills/99.jpg").status_code == 404
