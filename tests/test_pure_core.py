"""The pure core stands without the site: every module of it imports where Django, DRF and Celery are blocked."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
CORE = (
    "timecode",
    "frames",
    "clock",
    "card_xml",
    "field_notes_csv",
    "team/splitting",
    "team/shares",
    "team/evening",
    "team/quiet",
    "record/seen",
    "forecast",
    "cards",
    "media",
    "cuts",
    "exports",
    "demo",
)

IMPORT_BLOCKED = """
import importlib, sys
for name in ("django", "rest_framework", "celery"):
    sys.modules[name] = None  # importing it now raises ImportError
for name in sys.argv[1:]:
    importlib.import_module(name)
"""


def core_modules():
    for part in CORE:
        path = ROOT / "review" / part
        files = path.rglob("*.py") if path.is_dir() else [path.with_suffix(".py")]
        for file in files:
            yield ".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def run(*modules):
    return subprocess.run(
        [sys.executable, "-c", IMPORT_BLOCKED, *modules], cwd=ROOT, capture_output=True, text=True, timeout=60
    )


def test_every_module_of_the_core_imports_without_the_site():
    modules = sorted(core_modules())
    assert {"review.timecode", "review.frames", "review.cards.checking"} <= set(modules)
    result = run(*modules)
    assert result.returncode == 0, result.stderr


def test_a_module_of_the_site_would_be_caught():
    result = run("review.models")
    assert result.returncode != 0 and "django" in result.stderr
