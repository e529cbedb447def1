"""The order of tags on the board, and which of them somebody means who types."""


def test_tags_stand_in_the_groups_of_the_trade_and_always_in_the_same_order(run):
    tags = [
        {"name": name, "group": group, "key": key}
        for name, group, key in [
            ("gull", "kind", ""),
            ("harbour", "Place", ""),
            ("Áine", "people", ""),
            ("Skipper", "people", "s"),
            ("storm", "story", ""),
            ("loose", "", ""),
            ("arc 10", "story", ""),
            ("arc 9", "story", ""),
            ("lens", "camera", ""),
        ]
    ]
    orders = run(
        """
        const { onBoard } = await load("tag-rules.js");
        const order = (tags) => onBoard(tags).map(([group, some]) => [group, some.map((tag) => tag.name)]);
        return [order(given), order([...given].reverse())];
        """,
        tags,
    )
    assert orders[0] == [
        ["people", ["Skipper", "Áine"]],
        ["story", ["arc 9", "arc 10", "storm"]],
        ["place", ["harbour"]],
        ["kind", ["gull"]],
        ["camera", ["lens"]],
        ["other", ["loose"]],
    ]
    assert orders[1] == orders[0]


def test_typing_finds_the_likeliest_tag_first(run):
    names = ["the net", "internet", "Network", "net", "Málaga", "gull"]
    found = run(
        """
        const { matching, tidy } = await load("tag-rules.js");
        const tags = given.map((name) => ({ name, group: "", key: "" }));
        const found = (text) => matching(tags, text).map((tag) => tag.name);
        return [...["net", "malag", "zzz"].map(found), tidy("  low,  tide ")];
        """,
        names,
    )
    assert found == [["net", "Network", "the net", "internet"], ["Málaga"], [], "low tide"]
