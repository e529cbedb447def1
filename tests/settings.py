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
else:
    # A name of this run's own, so that runs side by side do not empty each other's tables.
    name = os.environ.get("RUSHLIGHT_TEST_DATABASE") or f"test_{DATABASES['default']['NAME']}_{os.getpid()}"
    DATABASES["default"]["TEST"] = {"NAME": name}
    DATABASES["default"]["CONN_MAX_AGE"] = 0  # a server thread that keeps its connection keeps the database too

# Programs that tests start have a home, and a SQLite database in it, of their own (tests/stack names another).
for inherited in ("RUSHLIGHT_DATABASE", "RUSHLIGHT_DATABASE_FILE"):
    os.environ.pop(inherited, None)

# A message goes nowhere: the tests do the jobs themselves, from their rows.
CELERY_BROKER_URL = "memory://localhost/"
CELERY_BROKER_TRANSPORT_OPTIONS = {}
os.mkdir(os.path.join(_home, "static"))
