"""JSON that is huge, deep or says more than it is asked, to every address of the surface that takes any."""

import json

import pytest
from django.db import transaction

from review.models import Card, ListExport, Membership, Person, Production, Select
from tests.addresses import API
from tests.conftest import api_of

ODD_BODIES = {
    "deep list": "[" * 100_000,
    "deep object": '{"a":' * 100_000,
    "deep in a field": '{"name": ' + "[" * 900 + "]" * 900 + "}",
    "many keys": json.dumps({f"k{number}": 1 for number in range(20_000)}),
    "one key twice": '{"name": "a", "name": ["b"]}',
    "a long text": json.dumps({"name": "x" * 2_000_000, "production": "KB04", "text": "y" * 2_000_000}),
    "many ids": json.dumps({"selects": ["0" * 32] * 50_000, "version": 1}),
    "a long number": '{"version": ' + "9" * 100_000 + "}",
    "too large": "[" + " " * 12_000_000 + "]",
    "half a letter": b'{"name": "\xc3"}',
    "half a pair": '{"name": "\\ud800"}',
    "a nul": '{"name": "\\u0000", "production": "\\u0000", "text": "\\u0000"}',
    "another encoding": '{"name": "x"}'.encode("utf-16"),
}


@pytest.fixture
def send(cast, site):
    script = api_of(cast.owner)
    script.raise_request_exception = False

    def send(path: str, method: str, body: str | bytes):
        return script.generic(method, f"/api/v1/{site(path)[0]}", body, content_type="application/json")

    return send


def taking(site):
    """Each address and method that takes a body, with one that it takes."""
    for path, methods in API.items():
        for method in methods:
            if method in ("POST", "PUT"):
                yield path, method, dict(site(path)[1] or {})


@pytest.mark.parametrize("kind", ODD_BODIES)
def test_no_body_makes_a_fault(send, site, kind):
    for path, method, _ in taking(site):
        with transaction.atomic():
            told = send(path, method, ODD_BODIES[kind])
            transaction.set_rollback(True)
        assert told.status_code < 500, (method, path, told.status_code)
        assert len(told.content) < 100_000, (method, path)
        if told.status_code >= 400:
            assert isinstance(told.json()["detail"], str), (method, path)


def test_a_deep_value_in_every_field_of_a_body_that_would_be_taken(send, site):
    deep = "[" * 400 + "]" * 400
    for path, method, body in taking(site):
        for field in body:
            text = json.dumps(body | {field: "HERE"}).replace('"HERE"', deep)
            with transaction.atomic():
                told = send(path, method, text)
                transaction.set_rollback(True)
            assert told.status_code < 500 and len(told.content) < 100_000, (method, path, field)


# Fields of the rows that no body may set.
_FORGED = {
    "id": 1, "pk": 1, "logger_id": 1, "made_by": 1, "person": 1, "given_by": 1, "is_superuser": True, "is_staff": True,
    "state": "verified", "proof": "checksums", "created": "2001-01-01T00:00:00Z", "deleted": None, "sha256": "0" * 64,
    "watched_frames": 50, "skimmed_frames": 0, "proxy_state": "ready", "frames": 9999, "card": 1, "carried_from": None,
    "seconds_used": 0, "confirmed": True, "scope": "write", "role": "owner",
}  # fmt: skip


def _facts() -> list:
    return [
        list(table.objects.order_by("pk").values_list(*fields))
        for table, fields in (
            (Person, ("id", "is_superuser", "is_staff", "is_active", "password")),
            (Membership, ("person", "production", "role")),
            (Production, ("id", "code", "wipe_copies", "rate_numerator")),
            (Card, ("id", "name", "proof", "folder", "production")),
        )
    ]


def test_a_body_sets_nothing_that_it_is_not_asked(cast, send, site):
    before = _facts()
    for path, method, body in taking(site):
        forged = {name: value for name, value in _FORGED.items() if name not in body}
        with transaction.atomic():
            plain = send(path, method, json.dumps(body)).status_code
            transaction.set_rollback(True)
        with transaction.atomic():
            told = send(path, method, json.dumps(body | forged))
            assert told.status_code in (plain, 400), (method, path, told.status_code, told.content[:200])
            assert _facts() == before, (method, path)
            assert not Select.objects.exclude(logger__in=[cast.logger, cast.owner]).exists(), path
            assert not Select.objects.filter(created__year=2001).exists(), path
            assert not ListExport.objects.filter(sha256="0" * 64).exists()
            transaction.set_rollback(True)
