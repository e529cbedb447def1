"""Log lines: one an event, with the ids of the request and of the job."""

import logging
import re

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from review.work import jobs, logs
from tests.conftest import browser_of


def line(message: str, *arguments, **more) -> str:
    record = logging.LogRecord("review.x", logging.INFO, __file__, 1, message, arguments, more.pop("exc_info", None))
    for name, value in more.items():
        setattr(record, name, value)
    return logs.OneLine().format(record)


def test_it_works():
    written = line("the card %s is here", "KB04-261112-A01", words={"path": "/a b", "status": 200})
    assert re.fullmatch(
        r"at=\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z level=info from=review\.x "
        r'path="/a b" status=200 said="the card KB04-261112-A01 is here"',
        written,
    )


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("two\nlines", r'said="two\nlines"'),
        ("\x1b[2J\r", r'said="\u001b[2J\r"'),
        ("a\u2028b\u0085", r'said="a\u2028b\u0085"'),
        ('say "so" level=error', r'said="say \"so\" level=error"'),
        ("plain", "said=plain"),
        ("海", "said=海"),
    ],
)
def test_whatever_is_said_is_one_line_and_cannot_pass_for_another_word(said, written):
    assert line(said).endswith(written)
    assert len(line(said).splitlines()) == 1


def test_a_traceback_is_on_the_line_and_bounded():
    try:
        raise ValueError("x" * 100_000)
    except ValueError as problem:
        written = line("a fault", exc_info=(type(problem), problem, problem.__traceback__))
    assert "traceback=" in written and r"\n  File " in written
    assert len(written) < 9000 and "\n" not in written


def test_a_request_has_an_id_in_its_lines_and_its_answer(cast, caplog):
    caplog.handler.setFormatter(logs.OneLine())
    with caplog.at_level(logging.INFO, "review"):
        told = browser_of(cast.logger).get("/cards/?production=KB04", headers={"X-Request-ID": "front-0123456789"})
    assert told["X-Request-ID"] == "front-0123456789"
    (written,) = [each for each in caplog.text.splitlines() if "request=front-0123456789" in each]
    assert (
        f"method=GET path=/cards/ status=200 ms={written.split('ms=')[1].split()[0]} person={cast.logger.id} "
        in written
    )


@pytest.mark.parametrize("given", ["", "short", "x" * 65, "two words", 'a"b"c"d', "aaaaaa\r\nX: y"])
def test_an_id_that_is_none_is_replaced(given):
    told = logs.RequestLines(lambda request: HttpResponse())(RequestFactory().get("/", HTTP_X_REQUEST_ID=given))
    assert re.fullmatch("[0-9a-f]{12}", told["X-Request-ID"])


def test_what_machines_ask_every_few_seconds_is_not_written(client, caplog):
    with caplog.at_level(logging.INFO, "review"):
        client.get("/healthz")
    assert caplog.records == []


def test_a_failed_job_keeps_the_last_lines_of_its_run_and_no_others(job):
    log = logging.getLogger("review.test")
    log.warning("before it")
    with jobs.ending(jobs.claim(job.id)):
        for number in range(100):
            log.info("step %s", number)
        raise ZeroDivisionError("division by zero")
    log.warning("after it")
    job.refresh_from_db()
    kept = job.log.splitlines()
    assert len(kept) == logs.KEPT_LINES
    assert kept[-2].endswith('from=review.test said="step 99"') and f" job={job.id} " in kept[-2]
    assert (
        "ZeroDivisionError: division by zero" in kept[-1] and "before it" not in job.log and "after it" not in job.log
    )


def test_a_job_that_is_tried_again_begins_with_an_empty_log(job):
    with jobs.ending(jobs.claim(job.id)):
        raise jobs.JobFailed("the drive is away")
    job.refresh_from_db()
    assert job.log.endswith('said="failed: the drive is away"')
    job.state = "waiting"
    job.save()
    jobs.claim(job.id).finish()
    job.refresh_from_db()
    assert job.log == ""
