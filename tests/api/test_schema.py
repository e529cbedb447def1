"""The description of the surface: a valid OpenAPI document that lists every route."""

import re

import pytest
import yaml
from drf_spectacular.validation import validate_schema

from review.api.urls import router
from tests.conftest import api_of


@pytest.fixture
def schema(cast):
    answer = api_of(cast.logger).get("/api/v1/schema/")
    assert answer.status_code == 200
    return yaml.safe_load(answer.content)


def test_it_is_valid_openapi(schema):
    validate_schema(schema)  # against the standard's own JSON schema


def test_it_lists_every_route_and_method(schema):
    described = {
        (re.sub(r"\{\w+\}", "*", path), method) for path, methods in schema["paths"].items() for method in methods
    }
    served = set()
    for route in router.urls:
        path = re.sub(r"\(\?P<\w+>[^)]*\)", "*", str(route.pattern)).strip("^$")
        served |= {(f"/api/v1/{path}", method) for method in route.callback.actions if method != "head"}
    assert described == served
    assert len(served) > 20


def test_it_names_what_the_stable_surface_promises(schema):
    select = schema["components"]["schemas"]["SelectForm"]["properties"]
    assert set(select) == {"clip", "in_frame", "out_frame", "tags", "note", "rating", "version"}
    assert set(schema["components"]["schemas"]["ListForm"]["properties"]) == {"name", "production", "selects"}
    (export,) = [path for path in schema["paths"] if path.endswith("}/export/")]
    query = [each for each in schema["paths"][export]["get"]["parameters"] if each["in"] == "query"]
    (wanted,) = [each for each in query if each.get("required")]
    assert (wanted["name"], sorted(wanted["schema"]["enum"])) == ("as", ["csv", "edl", "otio"])


def test_it_tells_nothing_of_any_production(cast):
    assert "Kestrel Bay" not in api_of(None).get("/api/v1/schema/").content.decode()  # anybody may read it
