"""The reference tool of ASC MHL (ascmhl 1.2), to check our reading and writing against."""

import os
import subprocess
from pathlib import Path

import pytest

ORACLES = Path(__file__).parents[1] / ".venv-oracles" / "bin"


class Ascmhl:
    """The reference tool of the ASC MHL format, run offline."""

    def __call__(self, *arguments):
        return self._run("ascmhl", *arguments)

    def debug(self, *arguments):
        return self._run("ascmhl-debug", *arguments)

    def _run(self, program, *arguments):
        nowhere = "http://127.0.0.1:9"  # the tool asks for updates of itself; it must not reach anyone from a test
        environment = os.environ | {"HTTPS_PROXY": nowhere, "https_proxy": nowhere}
        return subprocess.run(
            [ORACLES / program, *map(str, arguments)], capture_output=True, text=True, env=environment, timeout=60
        )


@pytest.fixture(scope="session")
def ascmhl_tool():
    if not (ORACLES / "ascmhl").exists() or not (ORACLES / "ascmhl-debug").exists():
        pytest.fail(
            "the ascmhl reference tool is missing; make its environment with: "
            "python3 -m venv .venv-oracles && .venv-oracles/bin/pip install ascmhl==1.2"
        )
    return Ascmhl()
