"""The site's own settings, in a home that is thrown away."""

import os
import tempfile

_home = tempfile.mkdtemp(prefix="rushlight-tests-")
os.environ["RUSHLIGHT_HOME"] = _home
os.environ["RUSHLIGHT_CARDS"] = os.path.join(_home, "cards")

from logging_app.settings import *  # noqa: E402, F403
