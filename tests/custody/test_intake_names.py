"""Cards whose files and folders have names that programs stumble over."""

import pytest

from review.custody import intake
from review.models import Job
from tests.conftest import check, film, work_off

NAME = "KB04-261112-A01"


@pytest.mark.parametrize(
    "name",
    [
        "Clip 1 – final (copy).MOV",
        "Möwe Ω 鳥 🐦.MOV",
        """it's "quoted" & <b>bold</b>.MOV""",
        "two\nlines\ttab.MOV",
        "-y.MOV",
        "http:%2F%2Fx.MOV",
        "concat:a|b.MOV",
        "%d%s{0}.MOV",
        "x" * 251 + ".MOV",
    ],
)
def test_a_file_is_taken_whatever_it_is_called(cast, root, name):
    film(root / NAME / name)
    card = check(root / NAME, cast.kb04)
    assert card.state == "verified"
    clip = card.clips.get()
    assert clip.files == [name] and clip.frames == 50
    work_off()
    clip.refresh_from_db()
    assert (clip.proxy_state, clip.proxy_problem) == ("ready", "")


def test_a_card_folder_may_have_the_longest_name_there_is(cast, root):
    folder = root / ("KB04-261112-A01" + "x" * 240)
    film(folder / "A001C001.MOV")
    card = check(folder, cast.kb04)
    assert card.state == "held" and len(card.reel) <= 8
    intake.accept(card, cast.media_manager, "named by the camera")
    longest = Job._meta.get_field("why").max_length  # which not every database insists on
    assert max(len(job.why) for job in Job.objects.all()) == longest
