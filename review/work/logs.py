"""Log lines: one an event, as `name=value` words that people read and programs split, with the ids of the request
and the job that it is about. A traceback is on the same line, its line ends written as \\n.

    at=2026-11-12T09:30:00.123Z level=info request=5f0c9a1e2b77 job=812 from=review.work.jobs said="job 812 begun"

The id of a request is what the server in front of us gave it (X-Request-ID), or one made here; the answer carries it.
A job keeps the last lines of its run, for the page that shows why it failed.
"""

import json
import logging
import re
import time
import uuid
from collections import deque
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

from django.http import HttpRequest, HttpResponse

KEPT_LINES = 40
_MOST_LENGTH = 8000  # characters of one line
_GIVEN_ID = re.compile(r"[A-Za-z0-9._-]{6,64}")
_PLAIN = re.compile(r"[^\s\"=\\]+")
_QUIET = ("/healthz", "/readyz", "/metrics", "/static/")  # asked for by machines every few seconds, or by the dozen

_request: ContextVar[str] = ContextVar("request", default="")
_job: ContextVar[int | None] = ContextVar("job", default=None)
_kept: ContextVar[deque | None] = ContextVar("kept", default=None)

log = logging.getLogger(__name__)


class OneLine(logging.Formatter):
    """An event as one line of words."""

    def format(self, record: logging.LogRecord) -> str:
        words = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            "level": record.levelname.lower(),
            "request": _request.get(),
            "job": _job.get(),
            "from": record.name,
            **getattr(record, "words", {}),
            "said": record.getMessage(),
            "traceback": self.formatException(record.exc_info) if record.exc_info else "",
        }
        return " ".join(f"{name}={_word(value)}" for name, value in words.items() if value not in ("", None))


def _word(value: object) -> str:
    text = str(value)
    if len(text) > _MOST_LENGTH:
        text = f"{text[: _MOST_LENGTH // 2]} … {text[-_MOST_LENGTH // 2 :]}"  # the end of a traceback tells most
    return text if _PLAIN.fullmatch(text) and text.isprintable() else json.dumps(text, ensure_ascii=not text.isascii())


class KeptWithTheJob(logging.Handler):
    """Keeps the last lines of the run that is under way in this thread, if one is."""

    def emit(self, record: logging.LogRecord) -> None:
        kept = _kept.get()
        if kept is not None:
            kept.append(self.format(record)[:_MOST_LENGTH])


class OnlyFaults(logging.Filter):
    """Of what Django says of requests, the faults with their traceback: the rest is in our own line already."""

    def filter(self, record: logging.LogRecord) -> bool:
        return bool(record.exc_info)


@contextmanager
def about_job(job_id: int):
    """Name this job in every line of the block. Yields the lines so far, as a function that joins them."""
    kept: deque[str] = deque(maxlen=KEPT_LINES)
    tokens = _job.set(job_id), _kept.set(kept)
    try:
        yield lambda: "\n".join(kept)
    finally:
        _job.reset(tokens[0])
        _kept.reset(tokens[1])


class RequestLines:
    """Gives each request an id, and writes a line about it when it has been answered."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        given = request.headers.get("X-Request-ID", "")
        name = given if _GIVEN_ID.fullmatch(given) else uuid.uuid4().hex[:12]
        token = _request.set(name)
        began = time.perf_counter()
        try:
            response = self.get_response(request)
            response["X-Request-ID"] = name
            if not request.path.startswith(_QUIET):
                _tell(request, response.status_code, time.perf_counter() - began)
            return response
        finally:
            _request.reset(token)


def _tell(request: HttpRequest, status: int, seconds: float) -> None:
    """The query is left out: it may hold what somebody looked for."""
    words = {
        "method": request.method,
        "path": request.path,
        "status": status,
        "ms": round(seconds * 1000),
        "person": getattr(getattr(request, "_cached_user", None), "pk", None),
    }
    log.log(logging.WARNING if status >= 500 else logging.INFO, "answered", extra={"words": words})
