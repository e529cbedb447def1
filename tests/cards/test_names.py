"""Card names. The rule is the house's own; no outside source."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from review.cards.names import CardName, NameMisfit, RuleMisfit, name_rule, parse_card_name, production_code

USUAL = name_rule("")


def misfit(text):
    with pytest.raises(NameMisfit) as caught:
        parse_card_name(text)
    return caught.value


def test_it_works():
    name = parse_card_name("KB04-261112-A03")
    assert name == CardName("KB04", date(2026, 11, 12), "A", 3)
    assert USUAL.write(name) == "KB04-261112-A03"


@given(
    st.from_regex(r"[A-Z]{2}[0-9]{2}", fullmatch=True),
    st.integers(0, 36524).map(lambda days: date(2000, 1, 1) + timedelta(days)),
    st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZ"),
    st.integers(1, 99),
)
def test_every_name_reads_back_as_itself(production, day, camera, number):
    name = CardName(production, day, camera, number)
    assert parse_card_name(USUAL.write(name)) == name


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("kb04-261112-a03", "lower case"),
        ("KB04_261112_A03", "joined by single hyphens"),
        ("KB04 261112 A03", "joined by single hyphens"),
        ("KB04261112A03", "joined by single hyphens"),
        ("KB04--261112-A03", "joined by single hyphens"),
        ("KB4-261112-A03", "two letters and two digits, not 'KB4'"),
        ("KB04-261112-A3", "a camera letter and a two-digit card number, not 'A3'"),
        ("KB04-261112-A003", "not 'A003'"),
        ("KB04-20261112-A03", "six digits, YYMMDD, not '20261112'"),
        ("KB04-2026-11-12-A03", "six digits"),
        ("KB04-261112-A03 (1)", "named like a second copy"),
        ("KB04-261112-A03 copy", "named like a second copy"),
        ("KB04-261112-A03 - Copy (2)", "named like a second copy"),
        ("Copy of KB04-261112-A03", "named like a second copy"),
        (" KB04-261112-A03 ", "spaces around it"),
        ("kb4 20261112 a3 copy", "lower case"),
    ],
)
def test_a_near_miss_says_why_and_gives_the_nearest_name(text, reason):
    problem = misfit(text)
    assert reason in " | ".join(problem.reasons)
    assert problem.nearest == "KB04-261112-A03"
    assert "did you mean KB04-261112-A03?" in str(problem)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("KB04-261131-A03", "there is no 31 November"),
        ("KB04-260229-A03", "there is no 29 February in 2026"),
        ("KB04-261312-A03", "there is no month 13"),
        ("KB04-261100-A03", "there is no day 00"),
        ("KB04-261112-03", "the camera letter is missing"),
        ("KB04-261112-A", "the card number is missing after camera A"),
        ("KB04-261112-A00", "card numbers run from 01 to 99"),
        ("KB04-261112-A100", "not 'A100'"),
        ("K04-261112-A03", "two letters and two digits, not 'K04'"),
        ("KB04-261112", "needs three parts"),
        ("", "needs three parts"),
        ("rushes", "needs three parts"),
        ("KB04-２６１１１２-A03", "six digits"),
    ],
)
def test_a_name_that_cannot_be_mended_gives_no_nearest(text, reason):
    problem = misfit(text)
    assert reason in " | ".join(problem.reasons)
    assert problem.nearest == ""


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("KB04-260230-A03", ("KB04-260228-A03", "KB04-260301-A03", "KB04-300226-A03")),
        ("KB04-311226-A03", ()),  # 31 December 2026 by another order is one more thing than the name says
        ("KB04-261231-A03", ()),
    ],
)
def test_names_that_may_have_been_meant_are_offered(text, near):
    try:
        parse_card_name(text)
    except NameMisfit as problem:
        assert problem.near[:3] == near or near == ()


# Rules of a production's own ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "text", "name"),
    [
        ("{date:DDMMYYYY}_{camera}{number:3}", "12112026_A001", CardName("", date(2026, 11, 12), "A", 1)),
        ("{date:YYYY-MM-DD} {camera}{number}", "2026-11-12 A01", CardName("", date(2026, 11, 12), "A", 1)),
        (
            "{production} {text} {unit}{camera}{number}",
            "KB04 HARBOUR 2A03",
            CardName("KB04", None, "A", 3, "2", "HARBOUR"),
        ),
        (
            "{production}_{unit:2}_{date}_{camera}_{number}",
            "KB04_U2_261112_A_03",
            CardName("KB04", date(2026, 11, 12), "A", 3, "U2"),
        ),
        ("CARD{number}", "CARD07", CardName(number=7)),
    ],
)
def test_a_production_can_have_a_rule_of_its_own(rule, text, name):
    assert parse_card_name(text, rule) == name
    assert name_rule(rule).write(name) == text
    assert parse_card_name(name_rule(rule).example, rule)


@pytest.mark.parametrize(
    ("rule", "text", "reason", "near"),
    [
        ("{date:DDMMYYYY}_{camera}{number:3}", "20261112_A001", "no year of a shoot", "12112026_A001"),
        ("{date:DDMMYYYY}_{camera}{number:3}", "12112026_001", "the camera letter is missing", ""),
        ("{date:DDMMYYYY}_{camera}{number:3}", "12112026-a1", "joined as in 12112026_A003", "12112026_A001"),
        ("{production} {text} {unit}{camera}{number}", "KB04 HARBOUR A03", "the unit is missing", ""),
        ("{production} {text} {unit}{camera}{number}", "kb4_harbour_1a3", "lower case", "KB04 HARBOUR 1A03"),
        ("{production} {text} {unit}{camera}{number}", "KB04 1A03", "three parts", ""),
        ("CARD{number}", "CARD00", "card numbers run from 01 to 99", ""),
    ],
)
def test_a_misfit_of_a_rule_of_its_own_is_told_part_by_part(rule, text, reason, near):
    with pytest.raises(NameMisfit) as caught:
        parse_card_name(text, rule)
    assert reason in str(caught.value)
    assert (near in caught.value.near) if near else caught.value.near == ()


@pytest.mark.parametrize(
    ("rule", "reason"),
    [
        ("{reel}{number}", "{reel} is no part of a name; these are: production, date, camera, number, unit, text"),
        ("{number", "in braces"),
        ("NUMBER}", "in braces"),
        ("{camera}", "two cards of a day would have one name"),
        ("{number}{number}", "once: number"),
        ("{number:9}", "1 to 4"),
        ("{camera:2}{number}", "nothing after a colon"),
        ("{date:DDMM}{number}", "YY or YYYY, MM and DD"),
        ("card{number}", "capitals"),
        ("A/{number}", "capitals"),
    ],
)
def test_a_rule_that_cannot_be_used_says_why(rule, reason):
    with pytest.raises(RuleMisfit) as caught:
        name_rule(rule)
    assert reason in str(caught.value)


@given(st.text(alphabet="{}:abcdenoprtux-_ 1YMD", max_size=40), st.text(max_size=30))
def test_any_rule_and_any_name_give_a_name_or_a_clear_error(rule, text):
    try:
        name = parse_card_name(text, rule)
    except (RuleMisfit, NameMisfit) as problem:
        assert str(problem)
    else:
        assert name_rule(rule).write(name) == text


def test_several_faults_are_all_told():
    assert misfit("kb4-261131-a0").reasons == (
        "lower case: the name is all capitals",
        "the production is two letters and two digits, not 'KB4'",
        "there is no 31 November",
        "the last part is a camera letter and a two-digit card number, not 'A0'",
    )


@given(st.text(max_size=40) | st.from_regex(r"[A-Za-z0-9 _-]{0,20}( copy|\(1\))?", fullmatch=True))
def test_any_text_is_a_name_or_a_misfit_whose_nearest_fits(text):
    try:
        assert USUAL.write(parse_card_name(text)) == text
    except NameMisfit as problem:
        assert problem.reasons
        for near in problem.near:
            assert USUAL.write(parse_card_name(near)) == near != text


def test_a_production_code_is_two_letters_and_two_digits():
    assert production_code("KB04") == "KB04"


@pytest.mark.parametrize(("text", "nearest"), [("kb4", "KB04"), ("KB-04", "KB04"), ("KB", ""), ("", ""), ("KB004", "")])
def test_another_production_code_is_refused(text, nearest):
    with pytest.raises(NameMisfit) as caught:
        production_code(text)
    assert "two letters and two digits" in str(caught.value)
    assert caught.value.nearest == nearest
