"""What docker/ says, read for a machine without containers: the same commands and settings, on loopback.

Only what compose.yaml here uses is understood: `${NAME:-default}`, `${NAME:?words}`, `$$`, merge keys, string commands.
"""

import json
import re
import shlex
from pathlib import Path

import yaml

DOCKER = Path(__file__).parents[2] / "docker"
_VARIABLE = re.compile(r"\$(?:\$|\{(\w+)(?::([-?])([^}]*))?\})")


class Compose:
    """The services of docker/compose.yaml, with the variables that whoever starts it gives."""

    def __init__(self, variables: dict[str, str]):
        self._variables = variables
        self.services: dict[str, dict] = yaml.safe_load((DOCKER / "compose.yaml").read_text())["services"]

    def command(self, service: str) -> list[str]:
        """The words of a service's command; the image's own when it has none."""
        words = self.services[service].get("command")
        return shlex.split(self._filled(words)) if words else image_command()

    def environment(self, service: str) -> dict[str, str]:
        return {name: self._filled(str(value)) for name, value in self.services[service]["environment"].items()}

    def _filled(self, text: str) -> str:
        def fill(found: re.Match) -> str:
            name, how, rest = found.groups()
            if name is None:
                return "$"
            if how == "?" and name not in self._variables:
                raise KeyError(f"{name}: {rest}")
            return self._variables.get(name, rest if how == "-" else "")

        return _VARIABLE.sub(fill, text)


def image_command() -> list[str]:
    """The CMD of the Dockerfile."""
    text = (DOCKER / "Dockerfile").read_text().replace("\\\n", " ")
    return json.loads(re.search(r"^CMD (\[.*\])$", text, re.MULTILINE)[1])


def nginx_conf(changes: dict[str, str]) -> str:
    """docker/nginx.conf with these words replaced, each of which must be in it."""
    text = (DOCKER / "nginx.conf").read_text()
    for old, new in changes.items():
        if old not in text:
            raise KeyError(f"docker/nginx.conf has no {old!r}")
        text = text.replace(old, new)
    return text
