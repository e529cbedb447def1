"""What the pages look like: that they fit, can be reached by keyboard, and can be read, by day and by lamplight."""

import re
import uuid
from pathlib import Path

import pytest
from django.conf import settings as site
from playwright.sync_api import expect

from review import roles
from review.cards.findings import STOP, Finding
from review.crew import people
from review.desk import lists
from review.marking import selecting, tagging
from review.marking.selecting import Mark
from review.models import Card, FieldNote
from review.record import presence
from tests.browser.desk import ready

SIZES = [(1440, 900), (1024, 768)]
NOTE = "The skipper leans out, shouts twice, and the whole net goes over the side with a very long splash. " * 3
STYLE = (Path(site.BASE_DIR) / "review" / "static" / "review" / "css" / "paper.css").read_text()


@pytest.fixture
def full_house(cast, ready_clip, make_clip):
    """A production with something long on every page; its owner is in two productions."""
    clip = ready_clip(frames=150)
    held = make_clip("A001C002 with a long name", card="KB04-261113-B01", state="held").card
    finding = Finding("altered", STOP, NOTE, NOTE, "PRIVATE/AVCHD/BDMV/STREAM/" + "00000" * 20 + ".MTS")
    Card.objects.filter(id=held.id).update(findings=[finding.as_dict()])
    words = ["gull", "net", "hands close up", "arrival of somebody", "weather", "engine", "quarrel", "laughter", "rope"]
    tagging.know_all(cast.kb04, {"what": words, "who": ["Skipper", "Marra", "Odd", "the harbour master"]})
    marks = [Mark(at, at + 12, tuple(words[: at % 5]), NOTE, at % 6) for at in range(0, 130, 5)]
    selects = [selecting.put(cast.logger, uuid.uuid4(), clip, mark, 0) for mark in marks]
    pulled = lists.make(
        cast.owner, cast.kb04, "A list with quite a long name, for the second episode", [s.id for s in selects]
    )
    people.add_member("owner", cast.nr07, roles.OWNER)
    return {
        "clip": f"/clips/{clip.id}/?frame=30",
        "card": f"/cards/{clip.card_id}/",
        "held card": f"/cards/{held.id}/",
        "list": f"/lists/{pulled.id}/",
        "productions": "/",
        **{name: f"/{name}/" for name in ("cards", "selects", "lists", "coverage", "people", "password", "help")},
    }


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_page_is_wider_than_the_window(room, cast, full_house, size):
    width, height = size
    page = room.enter(cast.owner, "/cards/?production=KB04", viewport={"width": width, "height": height})
    for name, path in full_house.items():
        page.goto(path)
        expect(page.locator("main")).to_be_visible()
        assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{name} scrolls sideways"
    page = room.enter(None, "/sign-in/", viewport={"width": width, "height": height})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_watching_page_fits_without_scrolling(room, cast, full_house, size):
    width, height = size
    page = room.enter(cast.owner, full_house["clip"], viewport={"width": width, "height": height})
    expect(page.locator(".sheet .line canvas").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollHeight") <= height
    for part, least in (("#video", 200), ("#sheet", 184), ("#timecode", 20), ("#in", 10), ("#selects", 90)):
        box = page.locator(part).bounding_box()
        assert box["x"] >= 0 and box["x"] + box["width"] <= width, part
        assert box["y"] >= 0 and box["y"] + box["height"] <= height, part
        assert box["height"] >= least, f"{part} is only {box['height']} high"
    video, sheet = page.locator("#video").bounding_box(), page.locator("#sheet").bounding_box()
    assert video["x"] + video["width"] <= sheet["x"], "the sheet is beside the picture"


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_with_all_that_can_be_beside_a_clip_the_form_stays_in_view(room, cast, ready_clip, size):
    width, height = size
    clip, other = ready_clip(frames=250), ready_clip("KB04-261112-B01", frames=240)
    viewing = uuid.uuid4()
    presence.pulse(cast.editor, clip, viewing, 30, None)
    presence.leave(cast.editor, clip, viewing, 30, "Go on from the clap. " * 20)
    presence.pulse(cast.producer, other, uuid.uuid4(), 30, None)
    note = {"day": clip.card.shoot_date, "timecode": "10:00:04:00", "text": NOTE, "taken_by": cast.producer}
    FieldNote.objects.create(production=cast.kb04, at=36_004_000_000, **note)
    page = room.enter(cast.logger, f"/clips/{clip.id}/", viewport={"width": width, "height": height})
    ready(page)
    parts = ["#angles button", "#mark-in", "#out-proof", "#note", "#tag", "#sheet", "#selects", "#remark", ".hand-over"]
    _in_view(page, parts, size)
    page.locator("#sound summary").click()
    _in_view(page, ["#channels", *parts[1:]], size)


def _in_view(page, parts, size) -> None:
    for part in parts:
        expect(page.locator(part).first).to_be_visible()
        box = page.locator(part).first.bounding_box()
        assert box["x"] >= 0 and box["x"] + box["width"] <= size[0], part
        assert box["y"] >= 0 and box["y"] + box["height"] <= size[1], part


def test_everything_on_the_watching_page_is_reached_by_tab_and_seen_to_be(room, cast, full_house):
    page = room.enter(cast.owner, full_house["clip"])
    ready(page)
    page.locator("#selects li[data-id]").first.click()
    expect(page.locator("#about")).to_be_enabled()
    there = page.evaluate(
        """() => {
          const wanted = 'a[href], button, input, select, textarea, summary, [tabindex="0"]';
          const usable = (each) => !each.matches(":disabled") && each.checkVisibility();
          const all = [...document.querySelectorAll(wanted)].filter(usable);
          all.forEach((each, at) => (each.dataset.testAt = at));
          return all.length;
        }"""
    )
    page.locator("body").press("Home")
    reached = {}
    for _ in range(there + 5):
        page.keyboard.press("Tab")
        at, words, outline = page.evaluate(
            """() => {
              const { outlineStyle, outlineWidth } = getComputedStyle(document.activeElement);
              const { dataset, textContent, id } = document.activeElement;
              return [dataset.testAt, id || textContent.trim(), outlineStyle === "none" ? 0 : parseFloat(outlineWidth)];
            }"""
        )
        if at is not None:
            reached[int(at)] = (words, outline)
    missing = set(range(there)) - set(reached)
    assert not missing, page.evaluate(
        "(ats) => ats.map((at) => document.querySelector(`[data-test-at='${at}']`).outerHTML)", list(missing)
    )
    assert there > 30
    assert all(outline >= 2 for _, outline in reached.values()), "a focus that cannot be seen"


def test_a_button_reached_by_tab_is_pressed_by_space_and_after_the_mouse_space_plays(room, cast, full_house):
    page = room.enter(cast.owner, full_house["clip"])
    ready(page)
    mute, speed = page.locator("#mute"), page.locator("#speed")
    mute.focus()
    mute.press("Space")
    expect(mute).to_have_attribute("aria-pressed", "true")
    expect(speed).to_have_text("still")
    mute.click()
    expect(mute).to_have_attribute("aria-pressed", "false")
    page.keyboard.press("Space")
    expect(speed).to_have_text("playing")
    expect(mute).to_have_attribute("aria-pressed", "false")


def test_the_keys_are_shown_by_a_question_mark(room, cast, full_house):
    page = room.enter(cast.owner, full_house["clip"])
    ready(page)
    page.keyboard.press("?")
    keys = page.get_by_role("dialog", name="Keys")
    expect(keys.get_by_role("row", name=re.compile("^I mark in"))).to_be_visible()
    expect(keys.get_by_role("row", name=re.compile("gull"))).to_be_visible()
    page.keyboard.press("i")  # keys do nothing while they are being read
    page.keyboard.press("Escape")
    expect(keys).to_be_hidden()
    expect(page.locator("#about-which")).to_have_text("Mark in and out to make a select")


def test_the_dim_setting_is_kept_and_nothing_flashes(room, cast):
    page = room.enter(cast.owner, "/cards/")
    light = page.get_by_role("button", name="Dim")
    expect(light).to_have_attribute("aria-pressed", "false")
    light.click()
    expect(page.locator("html")).to_have_class("dim")
    # what the page is like at the moment when its body comes to be
    page.add_init_script(
        """new MutationObserver((_, observer) => {
          if (!document.body) return;
          window.firstClass = document.documentElement.className;
          observer.disconnect();
        }).observe(document, { childList: true, subtree: true });"""
    )
    page.goto("/selects/")
    assert page.evaluate("window.firstClass") == "dim"
    expect(light).to_have_attribute("aria-pressed", "true")
    light.click()
    page.reload()
    expect(page.locator("html")).not_to_have_class("dim")


# Contrast: WCAG 2.2, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (what is not text, 3 to 1), with the relative
# luminance that it defines.
TEXT = [
    *((text, ground) for text in ("ink", "faint", "accent") for ground in ("ground", "paper", "wash")),
    *((text, ground) for text in ("good", "weak", "bad") for ground in ("ground", "paper")),
    *(("ink", ground) for ground in ("warn-wash", "bad-wash")),
    *(("on-accent", "accent"), ("paper", "ink"), ("bad", "wash"), ("bad", "bad-wash"), ("bad", "warn-wash")),
]
SHAPES = [("watched", "paper"), ("hatch", "paper"), ("focus", "ground"), ("focus", "paper"), ("accent", "paper")]


def _colours(dim: bool) -> dict[str, str]:
    blocks = re.findall(r"^:root(\.dim)? {(.*?)}", STYLE, re.DOTALL | re.MULTILINE)
    [block] = [body for name, body in blocks if bool(name) == dim]
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block))


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_the_contrast_of_known_pairs():
    # black on white is 21 to 1; #767676 is the lightest grey that passes on white
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)
    assert _contrast("#767676", "#ffffff") > 4.5 > _contrast("#777777", "#ffffff")


@pytest.mark.parametrize("dim", [False, True], ids=["light", "dim"])
def test_text_and_marks_stand_out_from_what_they_are_on(dim):
    colours = _colours(dim)
    weak = {}
    for pairs, least in ((TEXT, 4.5), (SHAPES, 3)):
        for one, other in pairs:
            ratio = _contrast(colours[one], colours[other])
            if ratio < least:
                weak[f"{one} on {other}"] = round(ratio, 2)
    assert weak == {}
