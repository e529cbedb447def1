"""The Celery application: the courier of jobs, never their record (see review/jobs.py)."""

import os
import warnings

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "logging_app.settings")

# A one-room installation often runs as root in a container of its own; jobs are JSON ids, nothing is unpickled.
warnings.filterwarnings("ignore", message="You're running the worker with superuser privileges")

app = Celery("rushlight")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["review"])
