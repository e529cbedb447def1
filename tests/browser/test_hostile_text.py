"""Whatever people write and cards say, no page runs it: every page of the site in a real browser, alive.

tests/strangers/test_hostile_house.py reads the same pages as HTML; here their scripts have drawn as well.
"""

import pytest
from playwright.sync_api import Page, expect

from tests.addresses import filled, page_addresses
from tests.browser.desk import ready
from tests.conftest import browser_of
from tests.strangers.hostile_house import INJECTED, TRACE, WRITTEN, House

_LISTEN = """globalThis.refusedHere = [];
addEventListener("securitypolicyviolation", (broken) =>
  refusedHere.push(`${broken.violatedDirective} ${broken.blockedURI}`));"""

# What was injected or refused, and whether the attack is there as text, in the page's own part and its fields.
_LOOK = """([injected, trace]) => {
  for (const each of document.querySelectorAll("details")) each.open = true;
  const main = document.querySelector("main");
  const fields = [...main.querySelectorAll("input, textarea, [title], [aria-label]")];
  const said = fields.flatMap((each) => [each.value, each.title, each.ariaLabel]);
  return {
    injected: [...document.querySelectorAll(injected)].map((each) => each.outerHTML.slice(0, 200)),
    refused: refusedHere,
    shown: [main.innerText, main.textContent, ...said].join(" ").includes(`<${trace}>`),
  };
}"""

# Pages of ours alone, on which nothing that somebody wrote is said.
_OURS = {"help/", "password/", "rules/", "forecast/"}


@pytest.fixture
def house(cast, root):
    return House(cast, root)


def html_pages(cast, house) -> list[str]:
    """Every address that answers with a page, from the site's own table."""
    browser = browser_of(cast.owner)
    found = []
    for path in page_addresses():
        answer = browser.get(filled(path, house.numbers), {"production": "KB04"})
        if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            found.append(path)
    return found


def live_a_little(page: Page, path: str) -> None:
    """What draws more of it: the keys and clicks that a page is worked with."""
    if path == "clips/*/":
        ready(page)
        for key in ("ArrowDown", "Enter", "?", "Escape", "t"):
            page.keyboard.press(key)
        page.keyboard.type("C")  # the tags that begin so
        page.locator("#clap-button").click()
    elif path == "days/":
        page.locator("#map").focus()
        for _ in range(20):  # until its clips have come
            for key in ("ArrowDown", "Home", "ArrowRight"):
                page.keyboard.press(key)
            if page.locator("#aloud").text_content():
                break
            page.wait_for_timeout(300)
        expect(page.locator("#aloud")).to_contain_text(f"<{TRACE}>")
    elif path == "selects/":
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Space")  # it plays where it stands, and its note is beside the picture
        page.wait_for_timeout(400)
    elif path == "lists/*/":
        page.keyboard.press("ArrowDown")
        page.keyboard.press("n")
    page.wait_for_timeout(250)


def test_no_page_runs_what_people_write(room, cast, house):
    paths = html_pages(cast, house)
    assert len(paths) > 30
    context = room.context(cast.owner)
    context.add_init_script(_LISTEN)
    page = context.new_page()
    asked, wrong, silent = [], {}, set()
    page.on("dialog", lambda dialog: (asked.append(f"{page.url}: {dialog.message}"), dialog.dismiss()))
    for path in paths:
        answer = page.goto(filled(path, house.numbers) + "?production=KB04")
        assert answer.status == 200 and "default-src 'self'" in answer.headers["content-security-policy"], path
        live_a_little(page, path)
        found = page.evaluate(_LOOK, [INJECTED, TRACE])
        if found["injected"] or found["refused"]:
            wrong[path] = found
        if not found["shown"]:
            silent.add(path)
    assert (wrong, asked) == ({}, [])
    assert silent <= _OURS, "the attack was not even shown there"


def test_what_would_run_is_seen_and_refused(room):
    """The other test's eyes: where the same text is put in as markup, its elements and its handlers are found."""
    room.expected += ["Content Security Policy", "404"]
    context = room.context()
    context.add_init_script(_LISTEN)
    page = context.new_page()
    page.goto("/sign-in/")
    page.locator("main").evaluate("(main, text) => (main.innerHTML = text)", WRITTEN)
    page.wait_for_timeout(300)
    found = page.evaluate(_LOOK, [INJECTED, TRACE])
    assert any(each.startswith(f"<{TRACE}>") for each in found["injected"])
    assert any(each.startswith("script-src-attr") for each in found["refused"])
