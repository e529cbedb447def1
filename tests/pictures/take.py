"""Take the README's pictures from the demo: python -m tests.pictures.take

Runs `manage.py demo` in a home of its own (RUSHLIGHT_HOME if set, so that it need not be made again).
"""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).parent
PORT = 8765
ADDRESS = f"http://127.0.0.1:{PORT}"
SIZE = {"width": 1440, "height": 900}
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
            _take_all(browser.new_page(viewport=SIZE), password)
            browser.close()
    finally:
        demo.terminate()
        demo.wait()


def _wait_for_password(demo: subprocess.Popen) -> str:
    for line in demo.stdout:
        if found := re.search(r"password '([^']+)'", line):
            return found[1]
    raise SystemExit("the demo ended before it served")


def _take_all(page: Page, password: str) -> None:
    page.goto(f"{ADDRESS}/sign-in/")
    page.fill("[name=username]", "maren")
    page.fill("[name=password]", password)
    page.click("button.main")
    page.goto(f"{ADDRESS}/cards/?production=KB04")
    page.click("text=KB04-261113-B02")
    page.locator(".facts .long").evaluate("line => line.remove()")  # the folder on whatever machine took the picture
    _save(page, "held")
    page.goto(f"{ADDRESS}/cards/")
    page.click("text=KB04-261112-A01")
    page.click("text=A001C001")
    page.wait_for_selector("#coverage:not(:empty)")  # the page's scripts have begun
    page.keyboard.press("ArrowDown")
    page.wait_for_selector("#selects li.active")
    page.wait_for_timeout(1500)  # the filmstrip's sheets come one after the other
    _save(page, "watching")


def _save(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    path = HERE / f"{name}.png"
    page.screenshot(path=path)
    with Image.open(path) as picture:  # a palette keeps the repository small
        picture.convert("RGB").quantize(192, method=Image.Quantize.MEDIANCUT).save(path, optimize=True)


if __name__ == "__main__":
    main()
