"""Ranges of proxies as players read them, through the whole of Rushlight, beside nginx alone serving the same files."""

import json
import shutil
import statistics
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

from tests.stack import programs

READERS, READ_SECONDS, ROUNDS = 4, 4.0, 3  # of proxies, side by side
ALONE = """worker_processes 1; pid {folder}/pid; error_log stderr; daemon off; events {{ worker_connections 256; }}
http {{ access_log off; sendfile on; tcp_nopush on; {temporary}
  server {{ listen 127.0.0.1:{port}; location / {{ alias {media}/; }} }} }}
"""


@contextmanager
def nginx_alone(media: Path, folder: Path):
    """nginx serving the proxies without asking anybody; its address."""
    folder.mkdir()
    port, user = programs.free_ports(1)[0], programs.another("nobody")
    if user:
        shutil.chown(folder, user)
    kinds = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    temporary = " ".join(f"{kind}_temp_path {folder}/{kind};" for kind in kinds)
    conf = folder.parent / "alone.conf"
    conf.write_text(ALONE.format(folder=folder, port=port, media=media, temporary=temporary))
    how = programs.run_as(user)
    program = programs.spawn(
        [programs.find("nginx"), "-c", str(conf), "-e", "stderr"], folder.parent / "alone.log", **how
    )
    try:
        time.sleep(1)
        yield f"http://127.0.0.1:{port}"
    finally:
        programs.ask_to_stop(program)
        programs.ended(program)


READER = """
import http.client, json, random, sys, threading, time
host, paths, cookies, seconds = json.loads(sys.argv[1])
total, lots = [], random.Random(1)
def read(path):
    link, until, here = http.client.HTTPConnection(host), time.monotonic() + seconds, 0
    while time.monotonic() < until:
        first = lots.randrange(31 << 20)
        link.request("GET", path, headers={"Range": f"bytes={first}-{first + (1 << 20) - 1}", "Cookie": cookies})
        answer = link.getresponse()
        assert answer.status == 206, answer.status
        buffer = memoryview(bytearray(1 << 20))
        got = 0
        while got < 1 << 20 and (more := answer.readinto(buffer[got:])):
            got += more
        here += got
    total.append(here)
threads = [threading.Thread(target=read, args=[path]) for path in paths]
[t.start() for t in threads]; [t.join() for t in threads]
print(sum(total) / seconds)
"""


def reading(address: str, paths: list[str], cookies: str) -> float:
    """Bytes a second that READERS get in ranges of 1 MiB."""
    given = json.dumps([address.removeprefix("http://"), paths, cookies, READ_SECONDS])
    done = subprocess.run([sys.executable, "-c", READER, given], check=True, capture_output=True, text=True)
    return float(done.stdout)


def compare_reads(address: str, person: dict, media: Path, folder: Path) -> None:
    """Ranged reads of proxies through the whole, beside nginx alone, in turn."""
    ids = [clip["id"] for clip in person["clips"]][:READERS]
    ours, theirs = [f"/media/{each}/proxy.mp4" for each in ids], [f"/clips/{each}/proxy.mp4" for each in ids]
    with nginx_alone(media, folder) as alone:
        rounds = [
            (reading(address, ours, person["cookies"]), reading(alone, theirs, person["cookies"]))
            for _ in range(ROUNDS)
        ]
    mine, bare = (statistics.median(each[at] for each in rounds) for at in (0, 1))
    print(f"\nRanges of 1 MiB, {READERS} readers: {mine / 2**20:.0f} MiB/s; nginx alone {bare / 2**20:.0f} MiB/s: "
          f"{statistics.median(a / b for a, b in rounds):.2f} of it.", flush=True)  # fmt: skip
