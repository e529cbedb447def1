"""What was chosen for an export, in words; see review.exports.options for the choices."""

from collections.abc import Mapping

_TABLE = "the table of reels and files with it, so as a .zip"
_EDL = {
    "reels": lambda _: "card names up to 32 characters as reels",
    "channels": lambda value: f"channels {value}",
    "order": lambda _: "in source order",
    "start": lambda value: f"record start {value}",
    "rate": lambda value: f"record rate {value}",
    "table": lambda _: _TABLE,
}
_OF_KIND = {"edl": _EDL, "csv": {"columns": lambda value: f"{len(value)} chosen columns"}}
_OF_ANY = {"merge": lambda _: "what touches or overlaps as one event", "new": lambda _: "only what was new"}


def chosen_words(kind: str, options: Mapping[str, object]) -> str:
    """What of `options`, as an export keeps them, makes one of `kind` other than usual; empty where nothing does."""
    words = {**_OF_KIND.get(kind, {}), **_OF_ANY}
    return ", ".join(say(options[name]) for name, say in words.items() if options.get(name))
