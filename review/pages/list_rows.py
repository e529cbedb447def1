"""The rows of a list as its page shows them: text that is ready, as a list may have a thousand.

What a row needs only when it is seen (its picture, its buttons) the page makes then. Its HTML is written here and not
in the template, which takes a millisecond for a row's forty values: a second for the list.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from html import escape

from django.urls import reverse
from django.utils.safestring import SafeString

from review.desk.pulling import Placed
from review.models import Clip, Select
from review.pages.words import duration
from review.pages.words import timebase as timebase_words


@dataclass
class Shown:
    """One clip's share of its rows, made once."""

    clip: Clip

    @cached_property
    def address(self) -> str:
        return reverse("clip", args=[self.clip.id])

    @cached_property
    def timebase(self) -> str:
        return timebase_words(self.clip)

    @cached_property
    def rate(self) -> str:
        """As the page's own arithmetic reads it: 30000/1001d for drop-frame."""
        clip = self.clip
        return f"{clip.rate_numerator}/{clip.rate_denominator}{'d' if clip.drop else ''}"

    @cached_property
    def proxy(self) -> str:
        ready = self.clip.proxy_state == Clip.ProxyState.READY
        return reverse("media", args=[self.clip.id, "proxy.mp4"]) if ready else ""

    @cached_property
    def names(self) -> tuple[str, str, str]:
        """Card, clip and reel, as HTML."""
        return escape(self.clip.card.name), escape(self.clip.name), escape(self.clip.card.reel)

    @cached_property
    def _sheets(self) -> list[str]:
        return [reverse("media", args=[self.clip.id, file]) for file in self.clip.filmstrip["files"]]

    def picture(self, frame: int) -> str:
        """Where the filmstrip's picture nearest before a frame is: the sheet, then left, top, width and height in it,
        and the sheet's own width and height. Empty without a filmstrip."""
        strip = self.clip.filmstrip
        if not strip or not strip["count"]:
            return ""
        index = min(frame // strip["every"], strip["count"] - 1)
        sheet, place = divmod(index, strip["columns"] * strip["rows"])
        row, column = divmod(place, strip["columns"])
        wide, high = strip["picture_width"], strip["picture_height"]
        area = (column * wide, row * high, wide, high, wide * strip["columns"], high * strip["rows"])
        return f"{self._sheets[sheet]} {' '.join(map(str, area))}"


@dataclass
class Row:
    """A placed select, as its row says it."""

    placed: Placed
    of_clip: Shown
    news: str = ""  # how it differs from what the reader has pulled

    @property
    def select(self) -> Select:
        return self.placed.select

    @property
    def clip(self) -> Clip:
        return self.placed.clip

    @cached_property
    def picture(self) -> str:
        return self.of_clip.picture(self.placed.in_frame)

    @cached_property
    def source_in(self) -> str:
        return self._label(self.placed.handled.in_frame)

    @cached_property
    def source_out(self) -> str:
        return self._label(self.placed.handled.out_frame)

    @cached_property
    def length(self) -> str:
        return duration(self.placed.seconds)

    @cached_property
    def remarks(self) -> list[str]:
        """What the list did to the select, in words."""
        placed, said = self.placed, []
        if placed.trimmed:
            marked = self._range(self.select.in_frame, self.select.out_frame)
            here = f"to {self._range(placed.in_frame, placed.out_frame)}, without the handles" if self.handles else ""
            said.append(f"Trimmed here{here and f' {here}'}; marked {marked}.")
        before, after = placed.handled.clipped
        if before:
            said.append(f"The clip begins there: {placed.handled.handles[0]} frames of handle before it.")
        if after:
            said.append(f"The clip ends there: {placed.handled.handles[1]} frames of handle after it.")
        return said

    @cached_property
    def handles(self) -> str:
        """The frames of handle before and after that are between in and out; empty without any."""
        before, after = self.placed.handled.handles
        return f"handles {before} + {after}" if before or after else ""

    def _range(self, first: int, after: int) -> str:
        return f"{self._label(first)} – {self._label(after)}"

    def _label(self, frame: int) -> str:
        return self.placed.timebase.label(self.clip.start_frame + frame)

    @property
    def to_read(self) -> SafeString:
        """The row of the table."""
        return SafeString(self._html("", ""))

    @property
    def to_arrange(self) -> SafeString:
        """The row for who may put the list in order: with what the page's script works from."""
        placed, clip, select = self.placed, self.clip, self.select
        facts = (
            f' draggable="true" tabindex="-1" data-clip="{clip.id}" data-start="{clip.start_frame}"'
            f' data-clip-frames="{clip.frames}" data-in="{placed.in_frame}" data-out="{placed.out_frame}"'
            f' data-marked="{select.in_frame},{select.out_frame}" data-proxy="{escape(self.of_clip.proxy)}"'
        )
        return SafeString(self._html(facts, '<td class="order"></td>'))

    def _html(self, facts: str, order: str) -> str:
        placed, select, of_clip = self.placed, self.select, self.of_clip
        card, clip, reel = of_clip.names
        address = f'href="{of_clip.address}?frame={placed.in_frame}&amp;list={placed.entry.list_id}"'
        handles = (
            f'<br><small title="Frames of handle, before and after">{self.handles}</small>' if self.handles else ""
        )
        return (
            f'<tr id="e-{select.id}" data-select="{select.id}" data-frames="{placed.frames}" data-rate="{of_clip.rate}"'
            f' data-picture="{escape(self.picture)}"{facts}>\n<td class="number place">{placed.place}</td>'
            f'<td class="thumb"><a {address} aria-label="Watch {clip}" draggable="false"></a></td>\n'
            f'<th scope="row"><a {address} draggable="false">{card}<br>{clip}</a><br><small>reel {reel}</small></th>\n'
            f'<td class="tc">{self.source_in}<br>{self.source_out}{handles}</td>'
            f'<td class="number">{self.length}<br><small>'
            f"{placed.frames} frame{'' if placed.frames == 1 else 's'}<br>{of_clip.timebase} fps</small></td>"
            f'<td class="number">{select.rating or ""}</td>\n'
            f'<td class="wide">{self._words()}</td>{order}</tr>\n'
        )

    def _words(self) -> str:
        """Tags, note, what is new of it to the reader, and what the list did to the select."""
        words = [f'<span class="tag">{escape(tag)}</span> ' for tag in self.placed.tags]
        if self.select.note:
            words.append(f'<p class="note">{escape(self.select.note)}</p>')
        if self.news:
            words.append(f'<p class="fresh">{self.news}</p>')
        words += [f'<p class="cut">{escape(said)}</p>' for said in self.remarks]
        if shared := self.placed.shared:
            how, twin = "The same frames as" if shared.same else "Shares frames with", self.placed.twin
            words.append(f'<p class="twice">{how} <a href="#e-{twin.select.id}">{twin.place}</a></p>')
        return "".join(words)


def rows_of(placed: list[Placed], news: Mapping[str, str]) -> list[Row]:
    """`news` has, by select id, how some of them differ from what the reader has pulled."""
    of_clip: dict[int, Shown] = {}
    return [
        Row(each, of_clip.setdefault(each.clip.id, Shown(each.clip)), news.get(str(each.select.id), ""))
        for each in placed
    ]
