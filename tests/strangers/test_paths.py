"""Paths and names that would lead elsewhere, in every place that takes one."""

import json
import uuid

import pytest
from django.test import Client

from review.derived import proxying
from review.desk import exporting, lists
from review.marking import selecting
from review.models import Card, Copy
from tests.conftest import api_of, browser_of

ODD_PATHS = [
    "", ".", "..", "/", "/etc", "/etc/passwd", "../../etc", "file:///etc", "//etc", "\\\\host\\share", "~root", "$HOME",
    "%2e%2e%2f%2e%2e%2fetc", "..%2f..%2fetc", "....//....//etc", "..\\..\\etc", "/proc/self/environ", "/dev/zero",
    "KB04-261112-A01/../../outside", "a\0b", "\udc80", "x" * 5000, "x/" * 2500, "/" + "\u202e" * 50, "http://127.0.0.1:1/",
]  # fmt: skip


@pytest.fixture
def odd_paths(root, tmp_path):
    """And a link out of the root, and what is under it."""
    (tmp_path / "outside" / "KB04-261112-A02").mkdir(parents=True)
    (root / "link").symlink_to(tmp_path / "outside")
    (root / "KB04-261112-A03").symlink_to(tmp_path / "outside")
    inside = [str(root), f"{root}/..", f"{root}/link", f"{root}/link/KB04-261112-A02", f"{root}/KB04-261112-A03"]
    return [*ODD_PATHS, *inside, f"{root}/x/../../outside", f"{root}\0/x"]


def test_no_folder_outside_of_the_card_roots_is_taken_in_or_told_of(cast, a_clip, odd_paths):
    browser, script = browser_of(cast.owner), api_of(cast.owner)
    for odd in odd_paths:
        body = {"production": "KB04", "folder": odd}
        for address in ("/api/v1/cards/", f"/api/v1/cards/{a_clip.card_id}/copies/"):
            told = script.generic("POST", address, json.dumps(body), content_type="application/json")
            assert told.status_code == 400, (address, odd[:40], told.status_code)
            assert b"root:" not in told.content and len(told.content) < 20_000
        if odd.isascii():  # a form cannot be made of what is no text
            for address in ("/cards/take-in/", f"/cards/{a_clip.card_id}/copies/"):
                told = browser.post(f"{address}?production=KB04", {"folder": odd, "original": "yes"})
                assert told.status_code == 404, (address, odd[:40], told.status_code)
    assert list(Card.objects.values_list("id", flat=True)) == [a_clip.card_id]
    assert not Copy.objects.exists()


@pytest.fixture
def media(cast, a_clip, settings):
    """A clip's files; and outside of its folder, what must not be sent."""
    folder = proxying.media_folder(a_clip.id)
    folder.mkdir(parents=True)
    (folder / "proxy.mp4").write_bytes(b"film")
    (settings.HOME / "secret-key").write_text("the secret")
    (folder / "sheet-000.jpg").symlink_to(settings.HOME / "secret-key")
    return f"/media/{a_clip.id}/"


@pytest.mark.parametrize("accel", ["", "/sent"])
def test_no_name_of_media_leads_out_of_the_clips_folder(cast, media, settings, accel):
    settings.ACCEL_PREFIX = accel
    browser = browser_of(cast.owner)
    names = [
        "..", "../secret-key", "../../secret-key", "../../../secret-key", "%2e%2e/%2e%2e/secret-key", "..%2fsecret-key",
        "..%5csecret-key", "%252e%252e%252fsecret-key", "/etc/passwd", "%2fetc%2fpasswd", "proxy.mp4/../../secret-key",
        "proxy.mp4%00.jpg", "proxy.mp4%0d%0aX-Accel-Redirect:%20/sent/x", "PROXY.MP4", "proxy.mp4.", "proxy.mp4%20",
        "sheet-000.jpg", "sheet-999.jpg", "x" * 5000, "%c0%ae%c0%ae%2fsecret-key", "．．／secret-key",
    ]  # fmt: skip
    for name in names:
        told = browser.get(media + name)
        assert told.status_code == 404, (name, told.status_code)
        assert "X-Accel-Redirect" not in told and b"the secret" not in told.getvalue()
    assert browser.get(media + "proxy.mp4").status_code == 200


def test_no_address_of_a_static_file_leads_out_of_their_folder(settings, db):
    where = settings.STATIC_URL
    assert Client().get(where + "review/css/paper.css").status_code == 200
    for name in ("../settings.py", "review/../../../manage.py", "%2e%2e/%2e%2e/manage.py", "/etc/passwd", "..%2f..%2fx",
                 "review/css/", "review/css/paper.css%00", "", "x" * 3000):  # fmt: skip
        assert Client().get(where + name).status_code == 404, name


def test_media_of_another_production_is_not_there_by_any_way(cast, a_clip, media):
    """By its number, a still of it, a stringout, an export kept, with the session or the token of a stranger."""
    clip = a_clip
    select = selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(0, 10), 0)
    made = lists.make(cast.editor, cast.kb04, "best", [select.id])
    exporting.export_by(cast.editor, made, "csv")
    stringout = made.stringouts.create(made_by=cast.editor, events=[], list_version=1, file="stringout.mp4")
    pages = (f"{media}proxy.mp4", f"/clips/{clip.id}/stills/1.jpg", f"/stringouts/{stringout.id}/video.mp4")
    calls = (f"clips/{clip.id}/", f"lists/{made.id}/exports/1/", f"lists/{made.id}/export/?as=csv")
    for address in pages:
        assert browser_of(cast.stranger).get(address).status_code == 404
        assert browser_of(None).get(address).status_code == 302
    for address in calls:
        assert api_of(cast.stranger).get(f"/api/v1/{address}").status_code == 404
        assert api_of(None).get(f"/api/v1/{address}").status_code == 401
    for number in (clip.id + 1, 0, 10**18, 10**30, uuid.uuid4().int):  # guessed
        assert browser_of(cast.stranger).get(f"/media/{number}/proxy.mp4").status_code == 404


@pytest.mark.parametrize("name", ['a"; filename="evil.exe', "../../etc/passwd", "=1+1", "é" * 200, "a\u2028b", "con",
                                  "a%0d%0aSet-Cookie: x=y", ".htaccess", "-rf"])  # fmt: skip
def test_the_name_of_a_list_makes_no_header_and_no_path_of_a_download(cast, full, name):
    _, select, _ = full
    made = lists.make(cast.editor, cast.kb04, name, [select.id])
    for kind in ("edl", "csv", "otio"):
        told = browser_of(cast.editor).get(f"/api/v1/lists/{made.id}/export/?as={kind}")
        given = told["Content-Disposition"]
        assert told.status_code == 200 and "Set-Cookie" not in told
        assert given.startswith("attachment; filename=") and given.isascii() and given.isprintable()
        shown = given.removeprefix("attachment; filename=").strip('"')
        assert not set(shown) & set('/\\"%;:') and not shown.startswith((".", "-", "=")), given
        assert not shown.lower().startswith("con.")
