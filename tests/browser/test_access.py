"""Every page can be used by everybody: what axe finds against WCAG 2.2 AA, by day and by lamplight."""

import uuid

import pytest
from axe_playwright_python.sync_playwright import Axe

from review.cards.findings import STOP, Finding
from review.desk import lists
from review.marking import selecting, tagging
from review.marking.selecting import Mark
from review.models import Card
from review.team import planning
from tests.browser.desk import Desk

# axe's own names for the levels A and AA of WCAG 2.0, 2.1 and 2.2 (its API documentation, "Axe-core Tags").
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
# By lamplight only colours differ; link-in-text-block is the other rule that looks at them.
OF_COLOURS = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
LIGHTS = pytest.mark.parametrize("dim", [False, True], ids=["light", "dim"])


def faults(page, dim: bool) -> list[str]:
    """What axe finds wrong on a page as it is: the rule, and the element."""
    assert (page.locator("html").get_attribute("class") == "dim") is dim
    found = Axe().run(page, options={"runOnly": OF_COLOURS if dim else LEVELS}).response
    assert len(found["passes"]) > (0 if dim else 5), "axe has not looked at the page"
    return [
        f"{rule['id']}: {node['target']} {node['html'][:160]} {node.get('failureSummary', '')[:240]}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def light(context, dim: bool) -> None:
    if dim:
        context.add_init_script("if (location.protocol !== 'about:') localStorage.setItem('rushlight-dim', 'yes');")


@pytest.fixture
def paths(cast, ready_clip, make_clip):
    """Something on every page."""
    clip = ready_clip(frames=150)
    held = make_clip("A001C002", card="KB04-261113-B01", state="held").card
    finding = Finding("altered", STOP, "A file is not what it was.", "Copy the card again.", "CLIP/A001C002.MOV")
    Card.objects.filter(id=held.id).update(findings=[finding.as_dict()])
    tagging.know_all(cast.kb04, {"what": ["gull", "net"], "who": ["Skipper"]})
    select = selecting.put(cast.logger, uuid.uuid4(), clip, Mark(10, 40, ("gull",), "Lands on the rail.", 3), 0)
    pulled = lists.make(cast.owner, cast.kb04, "Arrivals", [select.id])
    split = planning.propose(cast.owner, cast.kb04, {}, {"owner": 8})
    names = (
        "cards",
        "shelf",
        "rules",
        "notes",
        "selects",
        "lists",
        "coverage",
        "second-looks",
        "forecast",
        "stints",
        "splits",
        "people",
        "machines",
        "password",
        "help",
        "days",
        "activity",
    )
    return [
        "/",
        "/days/2026-11-12/report/?production=KB04",
        "/selects/?production=KB04&view=pictures&longer=1",
        "/selects/?production=KB04&text=second+day+landz",
        *(f"/{name}/?production=KB04" for name in names),
        f"/cards/{clip.card_id}/",
        f"/cards/{held.id}/",
        f"/agreement/{clip.id}/",
        f"/lists/{pulled.id}/",
        f"/lists/{pulled.id}/print/",
        f"/splits/{split.id}/",
    ]


@LIGHTS
def test_the_pages_pass(room, cast, paths, dim):
    context = room.context(cast.owner)
    light(context, dim)
    page = context.new_page()
    wrong = {}
    for path in paths:
        assert page.goto(path).status == 200, path
        if found := faults(page, dim):
            wrong[path] = found
    assert wrong == {}


@LIGHTS
def test_the_sign_in_page_passes(room, dim):
    context = room.context()
    light(context, dim)
    page = context.new_page()
    page.goto("/sign-in/")
    assert faults(page, dim) == []


@pytest.mark.parametrize(
    ("size", "dim"), [((1440, 900), False), ((1024, 768), False), ((1024, 768), True)], ids=["large", "small", "dim"]
)
def test_the_watching_page_passes_in_each_of_its_states(room, cast, ready_clip, size, dim):
    clip = ready_clip(frames=150)
    tagging.know_all(cast.kb04, {"what": ["gull", "net", "weather"], "who": ["Skipper"]})
    selecting.put(cast.editor, uuid.uuid4(), clip, Mark(10, 40, ("gull",), "Lands on the rail.", 3), 0)
    context = room.context(cast.logger, viewport={"width": size[0], "height": size[1]})
    light(context, dim)
    desk = Desk.open(context.new_page(), clip)
    wrong = {"opened": faults(desk.page, dim)}
    desk.press("ArrowDown")
    wrong["a select chosen"] = faults(desk.page, dim)
    desk.part("sound").locator("summary").click()
    wrong["sound"] = faults(desk.page, dim)
    desk.press("?")
    wrong["keys"] = faults(desk.page, dim)
    desk.press("Escape")
    desk.part("clap-button").click()
    wrong["clock"] = faults(desk.page, dim)
    assert {state: found for state, found in wrong.items() if found} == {}
