"""What all exports share: the table of formats, file names, the zip, and independence of the site."""

import io
import subprocess
import sys
import zipfile

import pytest

from review.exports import FORMATS, ExportFile, bundle, cmx3600
from review.exports.text import ascii_line, file_name

from .pulls import DROP, event, pull


@pytest.mark.parametrize("kind", ["edl", "csv", "otio"])
def test_every_format_gives_a_file_named_by_the_list(kind):
    (file,) = FORMATS[kind](pull(event()))
    assert file.name == f"Day 3 goats.{kind}"
    assert file.content and file.content_type


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Day 3: goats?", "Day 3- goats.edl"),
        ("../../etc/passwd", "etc-passwd.edl"),
        ("C:\\temp\\x", "C-temp-x.edl"),
        ("山羊", "ShanYang.edl"),
        ("a\r\nb", "a b.edl"),
        ("", "selects.edl"),
        ("...", "selects.edl"),
        ("con", "list con.edl"),
        ("x" * 300, "x" * 100 + ".edl"),
    ],
)
def test_a_file_name_is_safe_anywhere(title, name):
    # What Windows refuses (devices, trailing dots, : ? * and the like): common practice, no source.
    assert file_name(title, "edl") == name


def test_text_is_spelt_out_in_ascii_on_one_line():
    assert ascii_line(" Müller’s\n“take”\x00 ") == 'Muller\'s "take"'


def test_one_file_is_handed_over_as_it_is():
    file = ExportFile("a.edl", b"x", "text/plain")
    assert bundle([file]) is file


def test_several_files_are_zipped_the_same_every_time():
    selects = pull(event(), event(timebase=DROP))
    packed = bundle(cmx3600(selects))
    assert (packed.name, packed.content_type) == ("Day 3 goats.zip", "application/zip")
    with zipfile.ZipFile(io.BytesIO(packed.content)) as archive:
        assert archive.namelist() == ["Day 3 goats 1 25.edl", "Day 3 goats 2 29.97DF.edl"]
        assert archive.read("Day 3 goats 1 25.edl") == cmx3600(selects)[0].content
    assert bundle(cmx3600(selects)) == packed


def test_exports_work_without_the_site():
    blocked = "import sys; sys.modules.update(dict.fromkeys(('django', 'rest_framework', 'celery'))); "
    subprocess.run([sys.executable, "-c", blocked + "import review.exports"], check=True)
