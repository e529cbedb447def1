"""The disk with the home is full: proxies, the database and exports on a small file system made for the test.

It needs the right to mount one (tmpfs); without it the tests are skipped, and say so.
"""

import random
import shutil
import subprocess
from contextlib import closing

import pytest

from tests.faults.house import TIMES, House

SIZE = 24 << 20  # bytes


class Disk:
    def __init__(self, folder):
        self.folder = folder
        self._filler = folder / "filler"

    def fill(self, left: int) -> None:
        """Fill it but for this many bytes."""
        with self._filler.open("wb", buffering=0) as file:
            written = 0
            for piece in (1 << 20, 4096):
                try:
                    while True:
                        written += file.write(b"\0" * piece)
                except OSError:
                    continue
            file.truncate(max(0, written - left))

    def make_room(self) -> None:
        self._filler.unlink(missing_ok=True)


@pytest.fixture(scope="module")
def disk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("disk")
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={SIZE}", "tmpfs", folder], capture_output=True, check=False
    )
    if made.returncode:
        pytest.skip(f"a small file system cannot be mounted here: {made.stderr.decode().strip()}")
    yield Disk(folder)
    subprocess.run(["umount", "--lazy", folder], check=True)


@pytest.fixture(scope="module")
def crowded(house, disk, tmp_path_factory):
    """The furnished house again, with its home on the small disk."""
    home = shutil.copytree(house.home, disk.folder / "home")
    with closing(House(tmp_path_factory.mktemp("crowded") / "house", home=home, like=house)) as crowded:
        yield crowded


@pytest.mark.parametrize("kind", ["proxy", "pictures", "check"])
def test_work_on_a_full_disk_fails_in_words_and_is_done_once_there_is_room(crowded, disk, tally, kind):
    full, failed = 0, 0
    for number in range(TIMES):
        job = crowded.run("ask", kind)
        crowded.run("empty_log")
        disk.fill(4096 * random.randint(0, 30) if number else 0)
        said = crowded.run("try_to_work", job)
        told = crowded.run("state_of", job)
        full += bool(said) or told["state"] != "done"
        if told["state"] == "failed":
            failed += 1
            assert "No space left on device" in told["error"] or "fault in Rushlight" in told["error"], told
        else:
            assert told["state"] in ("running", "waiting", "done"), told
            assert not said or "full" in said or "disk I/O error" in said, said
        disk.make_room()
        assert crowded.run("after_a_kill") == []
        crowded.run("retry_failed")
        crowded.run("work_off")
        crowded.run("forget_failed")
    assert crowded.run("at_rest") == []
    assert crowded.run("counts")["proxies"] == ["ready", "ready"]
    assert crowded.run("integrity") == []
    assert full
    tally(
        f"the disk is full: {kind} ({full} stopped by it, {failed} said so)", "a tmpfs filled to a random rest", TIMES
    )


def test_an_export_on_a_full_disk_is_refused_in_words_and_none_is_half(crowded, disk, tally):
    key, refused = crowded.run("token"), 0
    for number in range(TIMES):
        kind = ("edl", "csv")[number % 2]  # the same again would not be kept again
        crowded.run("empty_log")
        disk.fill(4096 * random.randint(0, 30) if number else 0)
        try:
            status, said = crowded.run("export", key, kind)
            if status != 200:
                refused += 1
                assert status == 500 and "nothing you marked is lost. Try again" in said
            if not number:
                assert crowded.run("page")[0] in (200, 500)
                assert crowded.run("ready")["home"] is False
        finally:
            disk.make_room()
        status, said = crowded.run("export", key, kind)
        assert status == 200 and "A001C001" in said
        assert crowded.run("exports") == []
    assert refused and crowded.run("ready")["home"] is True and crowded.run("integrity") == []
    tally(
        f"the disk is full: an export ({refused} refused, in words)",
        "a tmpfs filled to a random rest, then room",
        TIMES,
    )
