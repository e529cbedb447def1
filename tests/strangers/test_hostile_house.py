"""Whatever text is an attack, no page takes it for markup: every page of the site, as its HTML says it."""

from urllib.parse import urlencode

import pytest

from tests.addresses import filled, page_addresses
from tests.conftest import browser_of
from tests.pages.test_pages_text import Reader
from tests.strangers.hostile_house import TRACE, WRITTEN, House, texts_left_out

# What the pages read of their address, by any name.
_QUERY = (
    *("text", "tag", "tag_any", "tag_none", "card", "camera", "date", "day", "logger", "person", "of", "by", "sort"),
    *("view", "sure", "handles", "people", "rights", "about", "rating", "since", "until", "from", "span", "edit"),
    *("skim", "hours", "loggers", "when", "page", "before", "after", "next", "frame", "name", "story", "as", "mine"),
)


@pytest.fixture
def house(cast, root):
    return House(cast, root)


def injected(answer) -> list:
    """What of an answer would be taken for more than a text."""
    page = Reader(answer.content.decode())
    strange = [tag for tag, given in page.elements if tag == TRACE or given.keys() & {"onload", "onerror"}]
    return page.running + strange


def test_every_text_of_every_table_is_an_attack(house):
    assert texts_left_out() == set()


def test_no_page_takes_it_for_markup(cast, house):
    browser, shown = browser_of(cast.owner), 0
    query = urlencode({"production": "KB04"} | dict.fromkeys(_QUERY, WRITTEN))
    for path in page_addresses():
        for more in ("?production=KB04", f"?{query}", f"?production={WRITTEN[:30]}"):
            answer = browser.get(filled(path, house.numbers) + more, follow=True)
            assert answer.status_code != 500, (path, more)
            if answer.streaming or not answer["Content-Type"].startswith("text/html"):
                continue
            assert injected(answer) == [], (path, more)
            shown += f"&lt;{TRACE}&gt;" in answer.content.decode()
    assert shown > 100  # it is there, as text


def test_an_address_that_is_an_attack_is_none_of_a_page(cast, house):
    browser = browser_of(cast.owner)
    for place in ("", "cards/", "days/", f"media/{house.clip.id}/"):
        answer = browser.get(f"/{place}{WRITTEN}")
        assert (answer.status_code, injected(answer)) == (404, [])
