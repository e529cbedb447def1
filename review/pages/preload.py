"""The modules that a page's script imports, named in the page: they are fetched all at once, not one import after the
other, which on a slow line costs a second and more."""

import re
from functools import cache
from pathlib import Path

_SCRIPTS = Path(__file__).parent.parent / "static" / "review" / "js"
_IMPORT = re.compile(r"""^(?:import|export)\s[^;]*?from\s+["']\./([\w-]+\.js)["'];?$""", re.MULTILINE)


@cache
def modules_of(script: str) -> tuple[str, ...]:
    """The modules that `script` imports, and those that these import: their paths as static files, by name."""
    reached, ahead = set(), {script}
    while ahead:
        name = ahead.pop()
        reached.add(name)
        ahead |= set(_IMPORT.findall((_SCRIPTS / name).read_text())) - reached
    return tuple(f"review/js/{name}" for name in sorted(reached - {script}))
