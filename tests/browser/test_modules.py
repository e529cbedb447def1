"""The page's modules hang together: each is served, and reached from a page."""

import re
from pathlib import Path

import pytest
from django.conf import settings as site

STATIC = Path(site.BASE_DIR) / "review" / "static"

MODULES = sorted((STATIC / "review" / "js").glob("*.js"))

_IMPORT = re.compile(r"""^(?:import|export)\s[^;]*?from\s+["']([^"']+)["'];?$""", re.MULTILINE)


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.name)
def test_every_import_is_a_file_that_is_served(module, client):
    assert client.get(f"{site.STATIC_URL}review/js/{module.name}").status_code == 200
    for name in _IMPORT.findall(module.read_text()):
        assert name.startswith("./"), f"{module.name} imports {name}"
        assert (module.parent / name).is_file(), f"{module.name} imports {name}"


def test_every_module_is_reached_from_a_page():
    pages = "".join(page.read_text() for page in (STATIC.parent / "templates").rglob("*.html"))
    reached, ahead = set(), set(re.findall(r"review/js/([\w-]+\.js)", pages))
    while ahead:
        name = ahead.pop()
        reached.add(name)
        imported = _IMPORT.findall((STATIC / "review" / "js" / name).read_text())
        ahead |= {each.removeprefix("./") for each in imported} - reached
    assert reached == {module.name for module in MODULES}


def test_the_watching_page_names_all_that_its_script_imports(client, cast, make_clip):
    client.force_login(cast.logger)
    page = client.get(f"/clips/{make_clip().id}/").content.decode()
    named = set(re.findall(r'<link rel="modulepreload" href="[^"]*/review/js/([\w-]+\.js)">', page))
    wanted, ahead = set(), {"watching-page.js"}
    while ahead:
        text = (STATIC / "review" / "js" / ahead.pop()).read_text()
        found = {each.removeprefix("./") for each in _IMPORT.findall(text)}
        ahead |= found - wanted
        wanted |= found
    assert named == wanted
    assert len(named) > 40
