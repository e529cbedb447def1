from review.cards.findings import CAUTION, MOST_ALIKE, STOP, Finding, condensed


def finding(code: str, number: int, severity: str = STOP) -> Finding:
    return Finding(code, severity, f"{code} {number}", "do this", f"CLIP/{number}")


def test_a_few_are_all_told():
    few = [finding("altered", 1), finding("missing", 2), finding("unlisted", 3, CAUTION)]
    assert condensed(few) == few


def test_many_of_a_kind_end_in_a_count():
    many = [finding("altered", 0), *(finding("missing", number) for number in range(40_000)), finding("link", 1)]
    told = condensed(many)
    assert len(told) == MOST_ALIKE + 3
    assert told[0].code == "altered" and told[-1].code == "link"
    summary = told[-2]
    assert (summary.code, summary.severity, summary.where) == ("missing", STOP, "")
    assert "39,950 more files" in summary.what
    assert summary.next == "do this"
