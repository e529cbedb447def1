"""Whatever is sent to the JSON surface, by its own schema or against it, it answers without a fault of its own.

The requests are made by Schemathesis from the schema. `RUSHLIGHT_TEST_REQUESTS` sets how many a route, method and
manner there are.
"""

import os
import re

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from requests import Request
from schemathesis.generation import GenerationMode

from review.marking import taking_notes
from review.models import Job
from review.record import stints
from review.work import jobs
from tests.conftest import api_of

REQUESTS = int(os.environ.get("RUSHLIGHT_TEST_REQUESTS", "2"))

quick = settings(
    max_examples=REQUESTS,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture
def rows(full, cast):
    """One of everything, by the first word of its address."""
    clip, select, made = full
    stint = stints.take(cast.logger, clip, 30, 40)
    taking_notes.take(cast.owner, cast.kb04, b"date,timecode,text\n2026-11-12,10:00:00:10,a gull lands\n")
    job = jobs.ask(Job.Kind.PICTURES, card=clip.card, clip=clip, why="a test")
    return {
        "productions": "KB04",
        "cards": clip.card_id,
        "clips": clip.id,
        "selects": str(select.id),
        "lists": made.id,
        "stints": stint.id,
        "tags": cast.kb04.tags.get().id,
        "jobs": job.id,
    }


def test_no_request_makes_a_fault(cast, rows, subtests):
    script = api_of(cast.owner)  # who may do the most
    schema = schemathesis.openapi.from_dict(script.get("/api/v1/schema/?format=json").json())
    told: list[int] = []
    for operation in (each.ok() for each in schema.get_all_operations()):
        names = re.findall(r"\{(\w+)\}", operation.path)
        real = {name: rows.get(operation.path.split("/")[3], 1) for name in names}
        for there in (real, None) if real else (None,):
            manners = list(GenerationMode) if operation.query or operation.body else [GenerationMode.POSITIVE]
            for manner in manners:

                @quick
                @given(case=operation.as_strategy(manner, path_parameters=there))
                def ask(case):
                    asked = Request(**case.as_transport_kwargs(base_url="http://testserver")).prepare()
                    kind = asked.headers.get("Content-Type", "application/json")
                    answer = script.generic(asked.method, asked.path_url, asked.body or b"", content_type=kind)
                    told.append(answer.status_code)
                    assert answer.status_code < 500, (asked.method, asked.path_url, asked.body)

                with subtests.test(f"{operation.label} {manner.value} {'here' if there else ''}"):
                    ask()
    assert len(told) > REQUESTS * 40
    assert {200, 202, 400, 404} <= set(told)
