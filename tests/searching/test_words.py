"""Folding, the forms of a word, and what a typed question asks. Both the words of rows and of questions go through the
same folding; how names and English words are spelt is common knowledge, no source."""

import re
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.searching import asking, folding
from review.searching.forms import forms


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("She laughs, at the GATE!", ["she", "laughs", "at", "the", "gate"]),
        ("KB04-261112-A03", ["kb04", "261112", "a03"]),
        ("Café, Ølstad & Łódź; straße", ["cafe", "olstad", "lodz", "strasse"]),
        ("Ægir Þór Iğdır", ["aegir", "thor", "igdir"]),
        ("e\u0301te\u0301 ﬁlm Ⅳ", ["ete", "film", "iv"]),  # decomposed, a ligature, a Roman numeral
        ("sharp_focus 100%", ["sharp", "focus", "100"]),
        ("дом Дома́", ["дом", "дома"]),
        ("한국 東京", ["한국", "東", "京"]),  # Chinese signs stand without spaces
        ("", []),
        ("…!?", []),
        ("a" * 100, ["a" * 60]),
    ],
)
def test_words_are_folded(text, words):
    assert folding.words(text) == words


@given(st.text(max_size=60))
def test_folding_is_done_once_and_leaves_no_sign_that_means_something_to_a_database(text):
    words = folding.words(text)
    assert folding.words(" ".join(words)) == words
    assert not any(re.search(r"[\s\x00-/:-@[-`{-\x7f]", word) or len(word) > 60 or not word for word in words)
    assert folding.words(unicodedata.normalize("NFD", text)) == folding.words(unicodedata.normalize("NFC", text))


def test_every_letter_is_folded_to_what_stays_the_same():
    """No letter that a row holds may be lost to a question: all of Unicode, as this Python knows it."""
    for code in range(sys.maxunicode + 1):
        letter = chr(code)
        if letter.isalpha():
            words = folding.words(letter)
            assert folding.words(" ".join(words)) == words, hex(code)


def test_a_row_holds_each_word_once_and_the_parts_of_names():
    assert folding.row(["gull gull", "A001C003.MOV", "Gull"]) == "gull a001c003 c003 mov"
    many = folding.row(" ".join(f"w{at}" for at in range(5000)) for _ in range(2))
    assert len(many.split()) == folding.MOST_WORDS


@pytest.mark.parametrize(
    ("asked", "written"),
    [
        ("laughing", "laughs laugh laughed"),
        ("laughs", "laughing laughed laugh"),
        ("laugh", "laughing laughs"),
        ("carries", "carry carried carrying"),
        ("carry", "carries carried"),
        ("running", "run runs"),
        ("run", "running"),
        ("smiling", "smile smiles smiled"),
        ("smile", "smiling"),
        ("gates", "gate"),
        ("watches", "watch watching watched"),
        ("watch", "watches"),
        ("boxes", "box"),
        ("stopped", "stop stops stopping"),
    ],
)
def test_one_form_of_a_word_asks_for_the_others(asked, written):
    assert set(written.split()) <= forms(asked) | {asked}


@pytest.mark.parametrize(
    ("asked", "written"),
    [
        ("gate", "gather"),
        ("sing", "s"),
        ("bed", "b"),
        ("boss", "bos"),
        ("news", "newt"),
        ("a03", "a03s"),
        ("東", "東s"),
    ],
)
def test_a_word_asks_for_no_other(asked, written):
    assert written not in forms(asked)


@given(st.text("abcdefghilnoprstuy", min_size=1, max_size=12))
def test_forms_are_few_and_plain(word):
    found = forms(word)
    assert len(found) <= 40 and word not in found
    assert all(re.fullmatch("[a-z]{3,}", form) for form in found)


def test_little_words_are_left_out_and_said():
    asked = asking.read("she laughs, the gate, wide")
    assert [word.text for word in asked.words] == ["laughs", "gate", "wide"]
    assert asked.left_out == ("she", "the")
    assert [word.text for word in asking.read("the").words] == ["the"]
    assert [word.text for word in asking.read("the skipper's").words] == ["skipper"]
    assert asked.without(asked.words[1]) == "laughs wide"


def test_a_question_has_so_many_words_and_no_more():
    asked = asking.read(" ".join(f"w{at}" for at in range(30)))
    assert len(asked.words) == asking.MOST_WORDS and len(asked.left_out) == 30 - asking.MOST_WORDS


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("She laughs, at 'the gate'.", "[She] laughs, at 'the [gate]'."),
        ("Gates and GATEWAY; agate", "[Gates] and [GATEWAY]; agate"),
        ("she’s là, Shé", "[she]’s là, [Shé]"),
        ("e\u0301te\u0301 she", "été [she]"),
        ("a001c003", "a001c003"),
        ("", ""),
    ],
)
def test_a_text_is_told_piece_by_piece_with_what_it_is_found_by(text, written):
    asked = asking.Question(tuple(asking.Word(word) for word in ("she", "gate")))
    told = [(piece, any(map(asked.finds, words))) for piece, words in folding.pieces(text)]
    assert "".join(f"[{piece}]" if found else piece for piece, found in told) == written


def test_a_part_of_a_name_is_told_in_the_whole():
    assert list(folding.pieces("A001C003.MOV")) == [("A001C003", ("a001c003", "c003")), (".", ()), ("MOV", ("mov",))]
