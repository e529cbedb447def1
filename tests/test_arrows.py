"""Arrows point one way: each part of the house imports only from floors below its own, and no two modules need each
other."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

HOUSE = Path(__file__).parents[1] / "review"
FLOORS = (  # from the ground up
    {"card_xml", "forecast", "frames", "many_ids", "refusals", "remembered", "roles", "timecode"},
    {"cards", "clock", "exports", "media"},
    {"cuts", "demo", "field_notes_csv", "models", "responses", "tables"},
    {"crew", "searching", "work"},
    {"record"},
    {"derived", "team"},
    {"custody", "desk", "marking", "running"},
    {"seeing", "tasks"},
    {"api", "management"},
    {"apps", "pages"},
)
FLOOR = {part: level for level, parts in enumerate(FLOORS) for part in parts}


def modules() -> dict[str, Path]:
    """Every module by its dotted name below review; migrations look back at what was, and are left out."""
    found = {}
    for file in HOUSE.rglob("*.py"):
        parts = file.relative_to(HOUSE).with_suffix("").parts
        if parts[0] not in ("migrations", "__init__"):
            found[".".join(parts).removesuffix(".__init__")] = file
    return found


def imported(file: Path, known: dict[str, Path]) -> set[str]:
    """The modules of the house that a file imports from, wherever in it."""
    found = set()
    for each in ast.walk(ast.parse(file.read_text())):
        assert not (isinstance(each, ast.ImportFrom) and each.level), f"{file}: imports are written in full"
        if isinstance(each, ast.ImportFrom) and each.module.split(".")[0] == "review":
            place = each.module.removeprefix("review").removeprefix(".")
            names = (f"{place}.{name.name}".removeprefix(".") for name in each.names)
            found |= {name if name in known else place for name in names}
        elif isinstance(each, ast.Import):
            found |= {name.name.removeprefix("review.") for name in each.names if name.name.startswith("review.")}
    return found


def test_every_part_is_on_a_floor():
    assert {name.split(".")[0] for name in modules()} == set(FLOOR)


def test_imports_go_down():
    known = modules()
    for name, file in known.items():
        part = name.split(".")[0]
        for other in imported(file, known):
            below = other.split(".")[0]
            assert below == part or FLOOR[below] < FLOOR[part], f"review.{name} imports review.{other}, which is above"


def test_no_two_modules_need_each_other():
    known = modules()
    needs = {name: imported(file, known) - {name} for name, file in known.items()}
    assert list(TopologicalSorter(needs).static_order())  # or raises CycleError, which names the circle
