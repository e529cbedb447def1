"""The Celery application: the courier of jobs, never their record (see review/work/jobs.py)."""

import os
import warnings

from celery import Celery, signals

from logging_app import folder_queue

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "logging_app.settings")

# A one-room installation often runs as root in a container of its own; jobs are JSON ids, nothing is unpickled.
warnings.filterwarnings("ignore", message="You're running the worker with superuser privileges")

folder_queue.take_over()
app = Celery("rushlight")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["review"])

_heartbeats = []


@signals.worker_ready.connect
def _begin_heartbeat(sender, **about):
    from review.work.workers import Heartbeat  # the models are there once Django has been set up

    heartbeat = Heartbeat(sender.hostname, sorted(sender.app.amqp.queues.consume_from))
    heartbeat.start()
    _heartbeats.append(heartbeat)


@signals.worker_shutdown.connect
def _end_heartbeat(sender, **about):
    while _heartbeats:
        _heartbeats.pop().stop()
