#!/usr/bin/env python3
"""Rushlight's commands: `manage.py demo`, `up`, `production`, `member`, `intake`, `export` and Django's own."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "logging_app.settings")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as problem:  # a setting that cannot be; the message names it
        sys.exit(f"manage.py: {problem}")
