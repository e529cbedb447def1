"""What a page does with marks while the house is hurt: it sends each until the server has it, as the outbox does."""

import http.client
import json
import threading
import time
import urllib.error
import urllib.request
import uuid
from collections import Counter

PATIENCE = 180.0  # seconds for one mark


class Script:
    """Talks to the JSON surface with a token."""

    def __init__(self, address: str, token: str):
        self.address, self.token = address, token

    def ask(self, path: str, method: str = "GET", body=None, seconds: float = 30, **more: str) -> tuple[int, object]:
        """(status, what was said); status 0 when the server was not reached."""
        headers = {"Authorization": f"Token {self.token}", "Content-Type": "application/json", **more}
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.address + path, data, headers, method=method)
        try:
            with urllib.request.urlopen(request, timeout=seconds) as answer:
                return answer.status, _read(answer)
        except urllib.error.HTTPError as refused:
            with refused:
                return refused.code, _read(refused)
        except (OSError, http.client.HTTPException):
            return 0, None


def _read(answer):
    text = answer.read().decode(errors="replace")
    return json.loads(text) if answer.headers.get_content_type() == "application/json" else text


class Marker(threading.Thread):
    """Marks a clip until it is told to stop, or `most` times, and changes every other mark once. `script`: a Script, or
    whatever else asks and answers like one."""

    def __init__(self, script, clip: int, most: int | None = None, pause: float = 0.0, tag: str = "gull"):
        super().__init__(daemon=True)
        self.promised: dict[str, list] = {}  # id -> [in, out, note, version], as the server said
        self.sent: set[str] = set()
        self.answers: Counter[int] = Counter()
        self.wishes = self.resent = 0  # what was wished for, and how much of it was not taken at the first try
        self.troubles: list = []  # what was answered with a status of 500 and more
        self.refused: list = []  # what should not have been refused
        self._script, self._clip, self._most, self._pause, self._tag = script, clip, most, pause, tag
        self._ended = threading.Event()

    def stop(self) -> None:
        """Finish the mark that is being made, and end."""
        self._ended.set()

    def run(self) -> None:
        number = 0
        while not self._ended.is_set() and number != self._most:
            number += 1
            name, first = str(uuid.uuid4()), number % 40
            version = self._until_taken(name, first, first + 5, f"mark {number}", 0)
            if version and number % 2:
                self._until_taken(name, first, first + 6, f"mark {number} again", version)
            time.sleep(self._pause)

    def _until_taken(self, name: str, first: int, end: int, note: str, version: int) -> int:
        """The version that the server has; 0 when it was refused."""
        body = {"clip": self._clip, "in_frame": first, "out_frame": end, "note": note, "tags": [self._tag]}
        self.sent.add(name)
        self.wishes += 1
        deadline, tries = time.monotonic() + PATIENCE, 0
        while time.monotonic() < deadline:
            tries += 1
            self.resent += tries == 2
            status, said = self._script.ask(f"/api/v1/selects/{name}/", "PUT", body | {"version": version})
            self.answers[status] += 1
            if status in (200, 201):
                self.promised[name] = [said["in_frame"], said["out_frame"], said["note"], said["version"]]
                return said["version"]
            if status and status not in (401, 429) and status < 500:
                break
            if status:
                self.troubles.append(said)
            time.sleep(0.2)
        self.refused.append((status, said))
        return 0
