"""Sound recorders' cards."""

from review.cards.layouts import read_layout
from review.cards.tree import read_tree


def test_it_works(make_card):
    files = dict.fromkeys(["DAY1/T001.WAV", "DAY1/T001.TXT", "DAY1/T002.wav", "DAY2/T001.WAV"], b"x")
    reading = read_layout(read_tree(make_card(files)))
    assert (reading.layout, reading.findings) == ("Sound files", ())
    assert [(clip.name, clip.files, clip.sidecars, clip.kind) for clip in reading.clips] == [
        ("DAY1/T001", ("DAY1/T001.WAV",), ("DAY1/T001.TXT",), "sound"),
        ("T002", ("DAY1/T002.wav",), (), "sound"),
        ("DAY2/T001", ("DAY2/T001.WAV",), (), "sound"),
    ]
