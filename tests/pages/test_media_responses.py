"""Proxies, filmstrips and peaks over HTTP: whole, in ranges (RFC 9110, sections 13 and 14), and through nginx."""

import os

import pytest

from review.derived import proxying
from tests.conftest import browser_of

DATA = bytes(range(256)) * 10_000  # over two of the pieces that are read at a time


@pytest.fixture
def address(cast, a_clip):
    folder = proxying.media_folder(a_clip.id)
    folder.mkdir(parents=True)
    (folder / "proxy.mp4").write_bytes(DATA)
    (folder / "peaks.bin").write_bytes(b"peaks")
    (folder / "sheet-000.jpg").write_bytes(b"sheet")
    a_clip.filmstrip = {"files": ["sheet-000.jpg"]}
    a_clip.save()
    return f"/media/{a_clip.id}/proxy.mp4"


def get(person, address, **headers):
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    answer = browser_of(person).get(address, headers=named)
    return answer, answer.getvalue() if answer.streaming else answer.content


def test_it_works(cast, address):
    answer, body = get(cast.logger, address)
    assert (answer.status_code, answer["Content-Type"], answer["Accept-Ranges"]) == (200, "video/mp4", "bytes")
    assert (answer["Content-Length"], body == DATA) == (str(len(DATA)), True)
    assert answer["Cache-Control"] == "private, max-age=3600"


@pytest.mark.parametrize(("name", "kind"), [("peaks.bin", "application/octet-stream"), ("sheet-000.jpg", "image/jpeg")])
def test_pictures_and_peaks_are_served_too(cast, address, name, kind):
    answer, _ = get(cast.logger, address.replace("proxy.mp4", name))
    assert (answer.status_code, answer["Content-Type"]) == (200, kind)


@pytest.mark.parametrize(
    ("asked", "first", "last"),
    [
        ("bytes=0-99", 0, 99),
        ("bytes=100-", 100, len(DATA) - 1),
        ("bytes=-500", len(DATA) - 500, len(DATA) - 1),
        ("bytes=0-0", 0, 0),
        (f"bytes=0-{10**17}", 0, len(DATA) - 1),
        (f"bytes=-{10**17}", 0, len(DATA) - 1),
        (f"bytes={len(DATA) - 1}-", len(DATA) - 1, len(DATA) - 1),
        (f"bytes={2**20 - 1}-{2**20}", 2**20 - 1, 2**20),
    ],
)
def test_a_range_is_sent(cast, address, asked, first, last):
    answer, body = get(cast.logger, address, Range=asked)
    assert (answer.status_code, answer["Content-Range"]) == (206, f"bytes {first}-{last}/{len(DATA)}")
    assert answer["Content-Length"] == str(last - first + 1)
    assert body == DATA[first : last + 1]


@pytest.mark.parametrize("asked", [f"bytes={len(DATA)}-", "bytes=-0", "bytes=9-5", f"bytes={10**17}-{10**17}"])
def test_a_range_that_is_not_there_is_416(cast, address, asked):
    answer, body = get(cast.logger, address, Range=asked)
    assert (answer.status_code, answer["Content-Range"], body) == (416, f"bytes */{len(DATA)}", b"")


@pytest.mark.parametrize(
    "asked", ["bytes=0-1,5-6", "lines=1-2", "bytes=a-b", "bytes", f"bytes={'9' * 50}-", "bytes= 0-1"]
)
def test_a_range_that_is_not_understood_is_left_aside(cast, address, asked):
    answer, body = get(cast.logger, address, Range=asked)
    assert (answer.status_code, len(body)) == (200, len(DATA))


def test_what_has_not_changed_is_not_sent_again(cast, address):
    tag = get(cast.logger, address)[0]["ETag"]
    answer, body = get(cast.logger, address, If_None_Match=tag)
    assert (answer.status_code, body) == (304, b"")
    assert get(cast.logger, address, If_None_Match='"other"')[0].status_code == 200


def test_a_range_of_what_has_changed_is_sent_whole(cast, address, a_clip):
    tag = get(cast.logger, address)[0]["ETag"]
    assert get(cast.logger, address, Range="bytes=0-9", If_Range=tag)[0].status_code == 206
    os.utime(proxying.media_folder(a_clip.id) / "proxy.mp4", ns=(1, 1))
    answer, body = get(cast.logger, address, Range="bytes=0-9", If_Range=tag)
    assert (answer.status_code, len(body)) == (200, len(DATA))
    assert answer["ETag"] != tag


def test_behind_nginx_the_file_is_named_and_not_sent(cast, address, a_clip, settings):
    settings.ACCEL_PREFIX = "/internal-media"
    answer, body = get(cast.logger, address, Range="bytes=0-9")
    assert (answer.status_code, body) == (200, b"")
    assert answer["X-Accel-Redirect"] == f"/internal-media/clips/{a_clip.id}/proxy.mp4"
    assert answer["Content-Type"] == "video/mp4"
    for person in (cast.stranger, None):
        assert "X-Accel-Redirect" not in get(person, address)[0]


def test_what_is_not_made_yet_is_not_there(cast, address, a_clip):
    (proxying.media_folder(a_clip.id) / "proxy.mp4").unlink()
    answer, body = get(cast.logger, address)
    assert answer.status_code == 404
    assert b"This has not been made yet" in body


@pytest.mark.parametrize("name", ["other.mp4", "..", "%2e%2e", "..%2f..%2fsecret-key", "proxy.mp4%00", "sheet-001.jpg"])
def test_nothing_else_is_served(cast, address, name):
    assert get(cast.logger, address.replace("proxy.mp4", name))[0].status_code == 404


def test_another_productions_media_is_not_there(cast, address):
    for name in ("proxy.mp4", "peaks.bin", "sheet-000.jpg"):
        assert get(cast.stranger, address.replace("proxy.mp4", name))[0].status_code == 404
        assert get(None, address.replace("proxy.mp4", name))[0].status_code == 302
