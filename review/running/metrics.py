"""Figures for a monitoring system, in the open text format (Prometheus text exposition 0.0.4).

All of them are read from the rows when they are asked for, so every web process gives the same answer.
"""

import hmac

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone
from prometheus_client import CONTENT_TYPE_PLAIN_0_0_4 as CONTENT_TYPE
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily as Gauge

from review.models import Card, Clip, WorkerSeen
from review.running import health, machines

__all__ = ["CONTENT_TYPE", "may_read", "text"]

_LOOPBACK = ("127.0.0.1", "::1")


def may_read(request: HttpRequest) -> bool:
    """With RUSHLIGHT_METRICS_TOKEN set, who sends it as a bearer token; without, this machine itself, and nothing
    that a server in front passes on."""
    if settings.METRICS_TOKEN:
        given = request.headers.get("Authorization", "")
        return hmac.compare_digest(given.encode(), f"Bearer {settings.METRICS_TOKEN}".encode())
    passed_on = "X-Forwarded-For" in request.headers or "Forwarded" in request.headers
    return request.META.get("REMOTE_ADDR") in _LOOPBACK and not passed_on


def text() -> bytes:
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_House())
    return generate_latest(registry)


class _House:
    """The figures, gathered once for each answer."""

    def collect(self):
        now = timezone.now()
        good = Gauge("rushlight_ready", "1 where this is as the work needs it.", labels=["what"])
        for answer in health.ready():
            good.add_metric([answer.name], int(answer.good))
        yield good
        if not all(answer.good for answer in health.ready() if answer.name in ("database", "tables")):
            return

        jobs = Gauge(
            "rushlight_jobs", "Jobs by kind and state; failed ones until they are made good.", labels=["kind", "state"]
        )
        ages = Gauge(
            "rushlight_job_oldest_waiting_seconds", "How long the oldest waiting job has waited.", labels=["kind"]
        )
        taking = Gauge(
            "rushlight_queue_workers", "Workers that take jobs of this kind and were heard of.", labels=["kind"]
        )
        for queue in machines.queues():
            for state in ("waiting", "running", "failed"):
                jobs.add_metric([queue.name, state], getattr(queue, state))
            ages.add_metric([queue.name], (now - queue.oldest).total_seconds() if queue.oldest else 0)
            taking.add_metric([queue.name], queue.workers)
        yield from (jobs, ages, taking)

        heard = Gauge("rushlight_worker_heard_seconds", "Since this worker was last heard of.", labels=["worker"])
        for seen in WorkerSeen.objects.filter(stopped_at=None):
            heard.add_metric([seen.name], (now - seen.heard_at).total_seconds())
        yield heard

        cards = Gauge("rushlight_cards", "Cards by state.", labels=["state"])
        for state in Card.State.values:
            cards.add_metric([state], Card.objects.filter(state=state).count())
        yield cards
        clips = Gauge("rushlight_clips", "Clips by the state of their proxy.", labels=["proxy"])
        for state in Clip.ProxyState.values:
            clips.add_metric([state], Clip.objects.filter(proxy_state=state).count())
        yield clips
