"""Whoever sends slowly holds up nobody else: nginx as docker/nginx.conf has it, before a web server of one thread.

The one-machine form has no nginx before it, and 32 requests that never end are all that it can bear.
"""

import http.server
import os
import socket
import subprocess
import threading
import time
import urllib.request
from contextlib import suppress

import pytest

from tests.stack import programs
from tests.stack.compose import nginx_conf

MANY = 200


class _Web(http.server.BaseHTTPRequestHandler):
    """One request at a time: one that never ended would be the last."""

    protocol_version = "HTTP/1.0"

    def do_GET(self):
        self.send_response(200)
        self.end_headers()
        self.wfile.write(b"a page")

    def do_POST(self):
        self.rfile.read(int(self.headers["Content-Length"]))
        self.do_GET()

    def log_message(self, *about):
        pass


@pytest.fixture
def port(tmp_path):
    """Where nginx listens; it gives up on slow ones after two seconds instead of ten."""
    try:
        nginx = programs.find("nginx")
    except programs.Missing as missing:
        pytest.skip(str(missing))
    web = http.server.HTTPServer(("127.0.0.1", 0), _Web)
    threading.Thread(target=web.serve_forever, daemon=True).start()
    (port,) = programs.free_ports(1)
    here = {
        "web:8000": f"127.0.0.1:{web.server_port}",
        "listen 8080": f"listen 127.0.0.1:{port}",
        "/tmp/nginx": f"{tmp_path}/nginx",
        "worker_processes auto": "worker_processes 1",
        "client_header_timeout 10s": "client_header_timeout 2s",
        "client_body_timeout 15s": "client_body_timeout 2s",
    }
    os.chmod(tmp_path, 0o755)
    (tmp_path / "nginx.conf").write_text(nginx_conf(here))
    command = [nginx, "-c", str(tmp_path / "nginx.conf"), "-e", "stderr", "-g", "daemon off; master_process off;"]
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        for _ in range(200):
            with suppress(OSError):
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            time.sleep(0.05)
        yield port
    finally:
        running.terminate()
        running.wait()
        web.shutdown()
        web.server_close()


def seconds_of_a_page(port: int) -> float:
    start = time.monotonic()
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=20) as told:
        assert told.read() == b"a page"
    return time.monotonic() - start


@pytest.mark.parametrize(
    "begun",
    [
        b"",
        b"GET / HTTP/1.1\r\nHost: x\r\nX-Slow: ",
        b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\nusername=",
    ],
    ids=["nothing said", "a head that never ends", "a body that never ends"],
)
def test_two_hundred_slow_ones_hold_up_nobody(port, begun):
    seconds_of_a_page(port)
    slow = [socket.create_connection(("127.0.0.1", port), 5) for _ in range(MANY)]
    try:
        for each in slow:
            each.sendall(begun)
        assert max(seconds_of_a_page(port) for _ in range(3)) < 5
        deadline = time.monotonic() + 30
        for each in slow:  # and are let go
            each.settimeout(max(0.1, deadline - time.monotonic()))
            with suppress(ConnectionError):
                while each.recv(4096):
                    pass
    finally:
        for each in slow:
            each.close()


def test_what_is_larger_than_anything_we_take_stops_at_the_door(port):
    with socket.create_connection(("127.0.0.1", port), 5) as link:
        link.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 50000000\r\n\r\n")
        link.settimeout(10)
        assert link.recv(100).startswith(b"HTTP/1.1 413 ")
