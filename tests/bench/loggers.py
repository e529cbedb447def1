"""Simulated loggers, by HTTP with connections that are kept: a process of its own, without Django.

    python -m tests.bench.loggers < plan > what-came-of-it        both JSON; bench_load.py writes and reads them

Each opens a clip's page, plays (a read of a proxy's bytes every READ seconds, a batch of what was watched every BATCH,
a pulse every PULSE), marks every MARK seconds, and every CHANGE seconds looks at another page or goes to the next clip.
A pause is met with some luck, so that fifty people do not act in one moment; each asks for one thing after another.
They come in the first half minute, which is not counted but for its marks: fifty who open their first page within the
same second, of a server that has just started, are no working day.
"""

import http.client
import json
import random
import resource
import sys
import threading
import time
import uuid
from itertools import count
from urllib.parse import urlsplit

BATCH, PULSE, MARK, READ, CHANGE = 5.0, 4.0, 20.0, 10.0, 30.0  # seconds
RANGE = 1 << 20  # bytes of a read
RATE = 25
WARM = 30.0  # seconds in which they come
SLACK = 0.5  # seconds that may be claimed before they passed
PAGES = ("/selects/?text=gull", "/stints/", "/coverage/", "/days/", "/cards/", "/selects/")


class Logger(threading.Thread):
    """One person in one browser. `person` has cookies, a token against forgery and clips; times are in ms."""

    def __init__(self, address: str, person: dict, until: float, number: int):
        super().__init__(daemon=True)
        self.person, self.until, self.lots = person, until, random.Random(number)
        self.counts_from = time.monotonic() + WARM
        parts = urlsplit(address)
        self._link = http.client.HTTPConnection(parts.hostname, parts.port, timeout=60)
        self.times: list[tuple[str, float]] = []
        self.faults: list[str] = []
        self.marks: list[str] = []
        self._heard = None

    def run(self) -> None:
        time.sleep(self.lots.uniform(0, WARM * 0.8))
        for at in count():
            self._watch(self.person["clips"][at % len(self.person["clips"])])
            if time.monotonic() > self.until:
                return

    def _watch(self, clip: dict) -> None:
        self._ask("the clip's page", "GET", f"/clips/{clip['id']}/")
        here = f"/api/v1/clips/{clip['id']}/"
        viewing, began, frame, batch = str(uuid.uuid4()), time.monotonic(), self.lots.randrange(clip["frames"] // 2), 0
        self._ask("a batch of watching", "POST", f"{here}watched/", {"viewing": viewing, "batch": 0, "spans": []})
        due = {what: began + self.lots.random() * every for what, every in self._every().items()}
        due["batch"], shown = began + BATCH, frame
        while (now := time.monotonic()) < self.until:
            what = min(due, key=due.get)
            if due[what] > now:
                time.sleep(min(due[what], self.until) - now)
                continue
            due[what] = now + self._every()[what] * self.lots.uniform(0.9, 1.1)
            reached = min(clip["frames"] - 1, frame + int((now - began) * RATE))
            if what == "batch" and reached > shown:
                batch += 1
                span = {"in_frame": shown, "out_frame": reached, "speed": 1.0, "muted": False}
                body = {"viewing": viewing, "batch": batch, "spans": [span]}
                self._ask("a batch of watching", "POST", f"{here}watched/", body)
                shown = reached
            elif what == "pulse":
                body = {"viewing": viewing, "frame": reached, "since": self._heard}
                if answer := self._ask("a pulse", "POST", f"{here}pulse/", body):
                    self._heard = json.loads(answer)["now"]
            elif what == "mark":
                self._mark(clip, reached)
            elif what == "read":
                self._read(clip)
            elif what == "change":
                self._ask("another page", "GET", self.lots.choice(PAGES))
                if reached >= clip["frames"] - 1 or self.lots.random() < 0.5:
                    return

    def _every(self) -> dict[str, float]:
        return {"batch": BATCH, "pulse": PULSE, "mark": MARK, "read": READ, "change": CHANGE}

    def _mark(self, clip: dict, reached: int) -> None:
        mark, out_frame = str(uuid.uuid4()), max(50, reached)
        body = {
            "clip": clip["id"], "in_frame": max(0, out_frame - 100), "out_frame": out_frame, "version": 0,
            "tags": ["tag 1", f"tag {self.lots.randrange(40)}"], "note": "the gull on the rope", "rating": 3,
        }  # fmt: skip
        self.marks.append(mark)
        self._ask("a mark", "PUT", f"/api/v1/selects/{mark}/", body)

    def _read(self, clip: dict) -> None:
        first = self.lots.randrange(max(1, clip["bytes"] - RANGE))
        wanted = {"Range": f"bytes={first}-{first + RANGE - 1}"}
        self._ask("a range of a proxy", "GET", f"/media/{clip['id']}/proxy.mp4", headers=wanted, want=206)

    def _ask(self, kind: str, method: str, path: str, body=None, headers=None, want: int = 200) -> bytes | None:
        given = {"Cookie": self.person["cookies"], "X-CSRFToken": self.person["csrf"], **(headers or {})}
        if body is not None:
            given["Content-Type"] = "application/json"
        began = time.perf_counter()
        try:
            answer, content = self._send(method, path, json.dumps(body) if body is not None else None, given)
        except (OSError, http.client.HTTPException) as problem:
            self.faults.append(f"{kind}: {problem!r}"[:200])
            self._link.close()
            return None
        if time.monotonic() > self.counts_from:
            self.times.append((kind, 1000 * (time.perf_counter() - began)))
        if answer.status != want:
            self.faults.append(f"{kind}: {answer.status} {content[:120]!r}")
            return None
        return content

    def _send(self, *request) -> tuple[http.client.HTTPResponse, bytes]:
        """As a browser does: a connection that the server has closed meanwhile is opened again."""
        for kept in (self._link.sock is not None, False):
            try:
                self._link.request(*request)
                answer = self._link.getresponse()
                return answer, answer.read()
            except (ConnectionError, http.client.RemoteDisconnected):
                self._link.close()
                if not kept:
                    raise
        raise AssertionError


def main() -> None:
    plan = json.load(sys.stdin)
    began = time.monotonic()
    until = began + WARM + plan["seconds"]
    loggers = [Logger(plan["address"], person, until, at) for at, person in enumerate(plan["people"])]
    for each in loggers:
        each.start()
    for each in loggers:
        each.join(WARM + plan["seconds"] + 90)
    used = resource.getrusage(resource.RUSAGE_SELF)
    json.dump(
        {
            "times": [pair for each in loggers for pair in each.times],
            "faults": [fault for each in loggers for fault in each.faults],
            "marks": [mark for each in loggers for mark in each.marks],
            "cpu": used.ru_utime + used.ru_stime,
            "seconds": time.monotonic() - began,
            "counted": plan["seconds"],
        },
        sys.stdout,
    )


if __name__ == "__main__":
    main()
