"""Files and texts that somebody hands in: too large, of the wrong kind, in odd encodings, and bombs."""

import base64
import bz2
import gzip
import io
import re
import time
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from review import field_notes_csv
from review.api import parsing
from review.models import Cut
from tests.conftest import api_of, browser_of

EDL = b"TITLE: x\n001  61112A01 V     C        10:00:00:00 10:00:01:00 01:00:00:00 01:00:01:00\n"
NOTES = b"date,timecode,text\n2026-11-12,10:00:01:00,a gull lands\n"


def bomb() -> bytes:
    """A megabyte of nothing, packed a thousand times."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("x", b"\0" * (1 << 20))
    return packed.getvalue()


ODD_FILES = {
    "nothing": b"", "zeros": b"\0" * 100_000, "a zip": bomb(), "bz2": bz2.compress(EDL),
    "gzip": gzip.compress(EDL * 9000),
    "half a letter": b"\xc3", "UTF-16": EDL.decode().encode("utf-16"), "UTF-32": EDL.decode().encode("utf-32"),
    "latin": "TITLE: M\xf6we\n".encode("latin-1"), "one line": b"x" * 3_000_000, "line ends": b"\r\n\n\r" * 100_000,
    "commas": b"," * 2_000_000, "quotes": b'date,timecode,text\n"' + b'""' * 500_000, "open quote": b'"' + NOTES * 900,
    "XML": b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c"><!ENTITY d "&b;&b;">]><a>&d;</a>',
    "digits": b"001  " + b"9" * 900_000, "events": EDL * 4_000, "columns": b"date," * 100_000 + b"\n",
}  # fmt: skip
FORMS = {"/cuts/": "list", "/notes/": "file"}


@pytest.mark.parametrize("kind", ODD_FILES)
def test_a_file_of_any_kind_is_taken_or_refused_in_words_and_soon(cast, a_clip, kind):
    browser = browser_of(cast.owner)
    for address, field in FORMS.items():
        given = {field: SimpleUploadedFile(f"{kind}.edl", ODD_FILES[kind])}
        start = time.process_time()
        told = browser.post(f"{address}?production=KB04", given)
        assert told.status_code in (200, 302, 400), (address, told.status_code)
        assert len(told.content) < 5_000_000
        assert time.process_time() - start < 20  # a whole cut of 4,000 events is read in it


@pytest.mark.parametrize("name", ["../../x.edl", "x\r\nSet-Cookie: y=z", "é" * 300 + ".edl", "\0.edl", "con.edl", ""])
def test_the_name_of_a_file_is_a_name_alone(cast, a_clip, name):
    head = f'--B\r\nContent-Disposition: form-data; name="list"; filename="{name}"\r\n\r\n'
    body = head.encode() + EDL + b"\r\n--B--\r\n"
    told = browser_of(cast.owner).generic(
        "POST", "/cuts/?production=KB04", body, content_type="multipart/form-data; boundary=B"
    )
    assert told.status_code in (302, 400)
    for cut in Cut.objects.all():
        assert cut.file_name.isprintable() and "/" not in cut.file_name and len(cut.file_name) <= 255


@pytest.mark.parametrize(("size", "status"), [(8_000_001, 400), (30_000_000, 413)])
def test_what_is_too_large_is_refused_with_the_size_that_is_not(cast, a_clip, size, status):
    for address, field in FORMS.items():
        given = {field: SimpleUploadedFile("x.edl", b"x" * size)}
        told = browser_of(cast.owner).post(f"{address}?production=KB04", given)
        assert told.status_code == status, address
        assert b"the most" in told.content or b"at most" in told.content, address
    assert not Cut.objects.exists()


@pytest.mark.parametrize(
    "body",
    [b"", b"--B", b"--B\r\n" * 20_000, b"--B\r\nContent-Disposition: form-data\r\n\r\nx\r\n--B--\r\n",
     b"--B\r\n" + b"X: y\r\n" * 30_000, b"--B\r\nContent-Transfer-Encoding: base64\r\nContent-Disposition: form-data; "
     b'name="list"; filename="x"\r\n\r\n!!!!\r\n--B--\r\n'],
    ids=["nothing", "a start", "many starts", "no name", "many headers", "no base64"],
)  # fmt: skip
def test_a_form_that_is_none_is_refused(cast, a_clip, body):
    for address in FORMS:
        for kind in ("multipart/form-data; boundary=B", "multipart/form-data", "multipart/form-data; boundary=\xe9",
                     "multipart/form-data; boundary=" + "b" * 5000):  # fmt: skip
            told = browser_of(cast.owner).generic("POST", f"{address}?production=KB04", body, content_type=kind)
            assert told.status_code in (400, 403), (address, kind[:40], told.status_code)


def test_a_hundred_files_at_once_are_too_many(cast, a_clip):
    given = {f"f{number}": SimpleUploadedFile("x", b"x") for number in range(101)}
    assert browser_of(cast.owner).post("/cuts/?production=KB04", given).status_code == 400


def test_a_preview_that_was_tampered_with_is_read_as_any_file(cast, a_clip):
    """It comes back from the browser, so it is no more to be trusted than the first time."""
    for data in (b"", b"\0" * 1000, b"no,columns\n", bomb(), "date,timecode,text\n²,³,é".encode()):
        given = {"previewed": base64.b64encode(data).decode()}
        assert browser_of(cast.owner).post("/notes/?production=KB04", given).status_code in (302, 400)
    assert not cast.kb04.field_notes.exists()


def test_what_comes_packed_over_json_is_not_unpacked(cast, a_clip):
    packed = gzip.compress(b'{"name": "x"}' + b" " * 50_000_000)
    told = api_of(cast.owner).generic(
        "POST", "/api/v1/lists/", packed, content_type="application/json", headers={"Content-Encoding": "gzip"}
    )
    assert told.status_code == 400


def test_nobody_fills_the_disk_with_what_is_never_read(cast, monkeypatch):
    """A form is looked into before its sender is known; one that says it is larger than any of ours is not."""

    def opened(*about):
        raise AssertionError("a file was begun")

    monkeypatch.setattr("django.core.files.uploadhandler.TemporaryFileUploadHandler.new_file", opened)
    monkeypatch.setattr("django.core.files.uploadhandler.MemoryFileUploadHandler.new_file", opened)
    told = Client(enforce_csrf_checks=True).post("/sign-in/", {"f": SimpleUploadedFile("x", b"x" * 10_000_000)})
    assert (told.status_code, b"is the most that is taken" in told.content) == (413, True)
    for address in ("/api/v1/lists/", "/api/v1/no-such/"):
        told = api_of(cast.owner).generic("POST", address, b" " * 10_000_000, content_type="application/json")
        assert (told.status_code, "is the most" in told.json()["detail"]) == (413, True)
    for length in ("-1", "abc", "9" * 30, ""):
        assert Client().get("/sign-in/", CONTENT_LENGTH=length).status_code == 200


def test_json_that_does_not_say_its_length_is_read_to_the_same_bound(monkeypatch):
    monkeypatch.setattr(parsing, "MOST_BYTES", 100)
    assert parsing.Json().parse(io.BytesIO(b"[1]".ljust(100))) == [1]
    with pytest.raises(parsing.TooLarge):
        parsing.Json().parse(io.BytesIO(b"[1]".ljust(101)))


def test_the_largest_notes_that_are_previewed_can_be_taken(cast, a_clip):
    rows = "".join(f"2026-11-12,10:00:00:{number % 25:02},{number} {'?>' * 1990}\n" for number in range(440))
    data = ("date,timecode,text\n" + rows).encode()
    assert 0.95 * field_notes_csv.MOST_BYTES < len(data) <= field_notes_csv.MOST_BYTES
    browser = browser_of(cast.owner)
    page = browser.post("/notes/?production=KB04", {"file": SimpleUploadedFile("x.csv", data)}).content.decode()
    kept = re.search(r'name="previewed" value="([^"]+)"', page)[1]
    assert 'enctype="multipart/form-data"' in page  # percent-encoded, it could be three times as long
    told = browser.post("/notes/?production=KB04", {"previewed": kept})
    assert (told.status_code, cast.kb04.field_notes.count()) == (302, 440)
