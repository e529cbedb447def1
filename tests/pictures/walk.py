"""A logger's way through two clips of the demo, with a picture at every step of the page "How to log"."""

from collections.abc import Callable

from playwright.sync_api import Page, expect

WHOLE = (0, 0, 1440, 900)
LEFT, RIGHT = 640, 800  # px: the two halves of the watching page

# (page, name, part of the page as x, y, width and height, width of the picture)
Save = Callable[[Page, str, tuple[int, int, int, int], int], None]


def open_clip(page: Page, address: str, card: str, clip: str) -> None:
    page.goto(f"{address}/cards/?production=KB04")
    for name in (card, clip):
        page.get_by_role("link", name=name, exact=True).first.click()
    begun(page)


def begun(page: Page) -> None:
    """Until the page's scripts have begun, and its film and its other angles are there."""
    page.wait_for_selector("#coverage:not(:empty)")
    page.wait_for_timeout(1500)


def take(page: Page, address: str, save: Save) -> None:
    keys = page.keyboard
    page.goto(f"{address}/stints/?production=KB04")
    if not page.locator("#held").count():  # otherwise it is held from the pictures before
        page.get_by_role("button", name="15 minutes").click()
    page.wait_for_selector("#held tbody tr")
    save(page, "stints", (0, 0, 1440, 560), 960)
    open_clip(page, address, "KB04-261113-A01", "A003C001")
    save(page, "clip", WHOLE, 960)

    open_clip(page, address, "KB04-261112-B01", "00002")
    for _ in range(2):
        keys.press("Shift+ArrowUp")
    keys.press("Space")
    page.wait_for_timeout(1600)
    save(page, "playing", (0, 48, LEFT, 452), LEFT)
    keys.press("i")
    page.wait_for_timeout(1300)
    keys.press("o")
    expect(page.locator("#selects li[data-id]")).to_have_count(1)
    keys.press("k")
    page.wait_for_timeout(400)
    save(page, "marked", (0, 432, LEFT, 250), LEFT)
    for key in ("w", "b", "4", "n"):
        keys.press(key)
    keys.type("The drum takes up the slack; she never looks away from the cable.")
    save(page, "tagged", (0, 540, LEFT, 360), LEFT)
    keys.press("Escape")
    expect(page.locator("#saved")).to_have_text("all saved")

    keys.press("Shift+L")
    page.wait_for_timeout(900)
    save(page, "exact", WHOLE, 960)
    keys.press("Shift+L")
    keys.press("k")
    keys.press("Shift+C")
    expect(page.locator("#trouble")).to_contain_text("Carried")
    keys.press("ArrowDown")
    page.wait_for_timeout(600)
    with page.expect_navigation():
        keys.press("PageUp")
    begun(page)
    save(page, "angle", WHOLE, 960)

    page.context.set_offline(True)
    keys.press("Enter")
    page.wait_for_selector("#sending:not([hidden])")
    save(page, "offline", (LEFT, 540, RIGHT, 360), RIGHT)
    page.context.set_offline(False)
    expect(page.locator("#saved")).to_have_text("all saved")

    here = page.url
    keys.press("End")
    page.wait_for_timeout(600)
    keys.press("u")
    page.wait_for_url(lambda url: url != here)
    begun(page)
    save(page, "next", (0, 48, LEFT, 452), LEFT)
