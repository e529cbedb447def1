"""The site's own settings, in a home that is thrown away."""

import os
import tempfile

_home = tempfile.mkdtemp(prefix="rushlight-tests-")
os.environ["RUSHLIGHT_HOME"] = _home
os.environ["RUSHLIGHT_CARDS"] = os.path.join(_home, "cards")

from logging_app.settings import *
from logging_app.settings import DATABASES

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, as in use: the browser tests' server threads cannot share one connection to a database in memory.
    DATABASES["default"]["TEST"] = {"NAME": os.path.join(_home, "tests.sqlite3")}

# A message goes nowhere: the tests do the jobs themselves, from their rows.
CELERY_BROKER_URL = "memory://localhost/"
CELERY_BROKER_TRANSPORT_OPTIONS = {}
os.mkdir(os.path.join(_home, "static"))
