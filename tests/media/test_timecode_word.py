"""Four bytes of timecode as cameras write them.

The order of the bytes is that of published clip XML samples, whose start and end values agree with their frame counts
(arithmetic); the flags are those of SMPTE ST 12-1, from memory.
"""

import pytest

from review.media.timecode_word import at_full_rate, label_of_word
from review.timecode import Rate, Timebase

R25, R2997, R50, R5994 = Rate(25), Rate(30000, 1001), Rate(50), Rate(60000, 1001)


@pytest.mark.parametrize(
    ("word", "rate", "pairs", "label"),
    [
        ("17305719", R25, False, "19:57:30:17"),
        ("21250020", R25, False, "20:00:25:21"),
        ("67212901", R2997, False, "01:29:21;27"),
        ("66342901", R2997, False, "01:29:34;26"),
        ("40000000", R5994, True, "00:00:00;00"),
        ("54830000", R5994, True, "00:00:03;29"),  # the fourteenth pair's second frame
        ("12000090", R50, True, "10:00:00:25"),  # at 25 pairs a second the flag is among the hours
        ("67212901", R25, False, "01:29:21:27"),  # there is no drop-frame at 25
    ],
)
def test_a_word_is_read(word, rate, pairs, label):
    assert label_of_word(bytes.fromhex(word), rate, pairs) == label


@pytest.mark.parametrize(
    ("start", "end", "rate", "pairs", "frames"),
    [
        ("17305719", "21250020", R25, False, 4379),
        ("67212901", "66342901", R2997, False, 389),
        ("40000000", "54830000", R5994, True, 209),
    ],
)
def test_the_published_samples_end_where_their_frame_counts_lead(start, end, rate, pairs, frames):
    first, last = (label_of_word(bytes.fromhex(word), rate, pairs) for word in (start, end))
    timebase = Timebase(rate, ";" in first)
    assert timebase.frame(last) - timebase.frame(first) == frames


@pytest.mark.parametrize("word", ["1a000000", "001a0000", "00001a00", "0000001a"])
def test_what_are_no_digits_is_refused(word):
    with pytest.raises(ValueError, match="invalid literal"):
        label_of_word(bytes.fromhex(word), R25)


@pytest.mark.parametrize(
    ("label", "base", "rate", "full"),
    [
        ("10:00:00:24", 25, R25, "10:00:00:24"),
        ("10:00:00:24", 25, R50, "10:00:00:48"),
        ("10:01:00;02", 30, R5994, "10:01:00;04"),  # the first label of a minute in both countings
        ("10:00:00:23", 24, Rate(48), "10:00:00:46"),
    ],
)
def test_labels_of_pairs_are_doubled(label, base, rate, full):
    assert at_full_rate(label, base, rate) == full


@pytest.mark.parametrize(("base", "rate"), [(30, R25), (24, R25), (50, R25), (25, Rate(60))])
def test_a_count_that_does_not_fit_the_rate_is_refused(base, rate):
    with pytest.raises(ValueError, match=f"counts {base} frames a second, and the clip has {rate}"):
        at_full_rate("10:00:00:00", base, rate)
