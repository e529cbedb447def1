"""The watching page as a person works it: keys in, and what is on the screen out."""

import base64

import numpy as np
from playwright.sync_api import Locator, Page, expect

from review.demo.frame_number import read_number, strip_rows
from review.models import Clip

# The bottom `share` of what an element shows, in grey, one byte a pixel.
_STRIP = """(element, rows) => {
  const width = element.videoWidth ?? element.width;
  const height = element.videoHeight ?? element.height;
  const canvas = new OffscreenCanvas(width, height);
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(element, 0, 0, width, height);
  const high = Math.max(1, Math.round(height * rows));
  const { data } = pen.getImageData(0, height - high, width, high);
  let grey = "";
  for (let at = 0; at < data.length; at += 4) grey += String.fromCharCode(data[at + 1]);
  return { width, height, grey: btoa(grey) };
}"""

# Looks as often as the text changes; Playwright's own waiting would look every tenth of a second.
_SHOWS = """(element, labels) => new Promise((done) => {
  const observer = new MutationObserver(() => labels.includes(element.textContent) && end());
  const end = () => (observer.disconnect(), done(element.textContent));
  observer.observe(element, { childList: true, characterData: true, subtree: true });
  setTimeout(end, 10000);
  if (labels.includes(element.textContent)) end();
})"""


def ready(page: Page) -> None:
    """Wait until a watching page has its picture and hears the keys."""
    expect(page.locator("#video")).to_have_js_property("readyState", 4)  # it can play through
    expect(page.locator("#saved")).not_to_be_empty()  # the last thing that its script does at the start


class Desk:
    def __init__(self, page: Page, clip: Clip):
        self.page = page
        self.clip = clip

    @classmethod
    def open(cls, page: Page, clip: Clip, frame: int = 0) -> "Desk":
        page.goto(f"/clips/{clip.id}/?frame={frame}")
        desk = cls(page, clip)
        ready(page)
        desk.shows(frame)
        return desk

    def reload(self) -> "Desk":
        return self.open(self.page, self.clip)

    def part(self, name: str) -> Locator:
        return self.page.locator(f"#{name}")

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def go(self, frame: int) -> None:
        """Go to a frame by steps, at 25 frames a second."""
        seconds, rest = divmod(frame, 25)
        self.press("Home", *["Shift+ArrowRight"] * seconds, *["ArrowRight"] * rest)
        self.shows(frame)

    def mark(self, start: int, end: int) -> None:
        """Mark frames [start, end) with the keys."""
        for frame, key in ((start, "i"), (end - 1, "o")):
            self.go(frame)
            self.press(key)

    def log(self, many: int) -> None:
        """A logging run: in, a frame on, out; and again."""
        for at in range(many):
            if at % 25 == 0:
                self.press("Home")
                self.shows(0)
            self.press("i", "ArrowRight", "o")

    @property
    def listed(self) -> Locator:
        """The page's list of selects."""
        return self.page.locator("#selects li[data-id]")

    # What is on the screen ----------------------------------------------------------------------

    def shows(self, *frames: int) -> None:
        """Wait until the page says that this frame (or one of these) is on the screen."""
        labels = [self.clip.label(frame) for frame in frames]
        shown = self.part("timecode").evaluate(_SHOWS, labels)
        assert shown in labels, f"{shown} is shown, not {labels[0]}{' to ' + labels[-1] if labels[1:] else ''}"

    def frame(self) -> int:
        """The frame that the page's timecode names."""
        return self.clip.timebase.frame(self.part("timecode").inner_text()) - self.clip.start_frame

    def number(self, name: str = "video") -> int | None:
        """The number in the picture of the video, or of the proof `in-proof` or `out-proof`."""
        shown = self.part(name).evaluate(_STRIP, 1 / 15)
        picture = np.zeros((shown["height"], shown["width"]), dtype=np.uint8)
        rows = strip_rows(shown["height"])
        strip = np.frombuffer(base64.b64decode(shown["grey"]), dtype=np.uint8)
        picture[-rows:] = strip.reshape(rows, -1)
        return read_number(picture)

    def proves(self, start: int | None, last: int | None) -> None:
        """Wait until the proofs show these frames, or none."""
        for _ in range(100):
            if (shown := (self.number("in-proof"), self.number("out-proof"))) == (start, last):
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"the proofs show {shown}, not {(start, last)}")

    # Saving -------------------------------------------------------------------------------------

    def saved(self) -> None:
        expect(self.part("saved")).to_have_text("all saved")

    def selects(self) -> list:
        """The clip's selects on the server, in order."""
        return list(self.clip.selects.filter(deleted=None).order_by("in_frame", "out_frame"))

    def ranges(self) -> list[tuple[int, int]]:
        """The selects that the server has, once it has all."""
        self.saved()
        return [(each.in_frame, each.out_frame) for each in self.selects()]
