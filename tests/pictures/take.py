"""Take the pictures of the README and of the page "How to log" from the demo: python -m tests.pictures.take

Runs `manage.py demo` in a home of its own (RUSHLIGHT_HOME if set, so that it need not be made again; what is marked for
the pictures stays in it).
"""

import os
import re
import subprocess
import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.pictures import walk

HERE = Path(__file__).parent
HELP = HERE.parent.parent / "review" / "static" / "review" / "help"
PORT = 8765
ADDRESS = f"http://127.0.0.1:{PORT}"
SIZE = {"width": 1440, "height": 900}
QUALITY = 74  # of the JPEGs: letters stay clear, and a page of them stays under 800 kB
CHROMIUM = [
    *("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required"),
]


def main() -> None:
    home = os.environ.get("RUSHLIGHT_HOME") or tempfile.mkdtemp(prefix="rushlight-pictures-")
    command = [sys.executable, "manage.py", "demo", "--port", str(PORT)]
    demo = subprocess.Popen(
        command, cwd=HERE.parent.parent, env={**os.environ, "RUSHLIGHT_HOME": home}, stdout=subprocess.PIPE, text=True
    )
    try:
        password = _wait_for_password(demo)
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=CHROMIUM)
            _take_readme(_enter(browser.new_page(viewport=SIZE), "maren", password))
            walk.take(_enter(browser.new_context(viewport=SIZE).new_page(), "ilse", password), ADDRESS, _save_step)
            browser.close()
    finally:
        demo.terminate()
        demo.wait()


def _wait_for_password(demo: subprocess.Popen) -> str:
    for line in demo.stdout:
        if found := re.search(r"password '([^']+)'", line):
            return found[1]
    raise SystemExit("the demo ended before it served")


def _enter(page: Page, who: str, password: str) -> Page:
    page.goto(f"{ADDRESS}/sign-in/")
    page.fill("[name=username]", who)
    page.fill("[name=password]", password)
    page.click("button.main")
    return page


def _take_readme(page: Page) -> None:
    page.goto(f"{ADDRESS}/cards/?production=KB04")
    page.get_by_role("link", name="KB04-261113-B02", exact=True).click()
    # Without the folders of whatever machine took the picture.
    page.locator(".facts .long").evaluate("line => line.remove()")
    page.locator("td code").evaluate_all(
        "all => all.forEach((one) => (one.textContent = one.textContent.split('/').at(-1)))"
    )
    _save(page, "held")
    walk.open_clip(page, ADDRESS, "KB04-261112-A01", "A001C001")
    page.keyboard.press("ArrowDown")
    page.wait_for_selector("#selects li.active")
    page.wait_for_timeout(1500)  # the filmstrip's sheets come one after the other, and then the proofs
    _save(page, "watching")


def _save(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    path = HERE / f"{name}.png"
    page.screenshot(path=path)
    with Image.open(path) as picture:  # a palette keeps the repository small
        picture.convert("RGB").quantize(192, method=Image.Quantize.MEDIANCUT).save(path, optimize=True)


def _save_step(page: Page, name: str, part: tuple[int, int, int, int], width: int) -> None:
    """The part (x, y, width, height) of the page, `width` pixels wide."""
    x, y, wide, high = part
    shot = page.screenshot(clip={"x": x, "y": y, "width": wide, "height": high})
    with Image.open(BytesIO(shot)) as picture:
        small = picture.convert("RGB").resize((width, round(high * width / wide)), Image.Resampling.LANCZOS)
        small.save(HELP / f"{name}.jpg", quality=QUALITY, optimize=True, progressive=True)


if __name__ == "__main__":
    main()
