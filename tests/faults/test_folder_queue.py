"""The queue in a folder: a message that is half there is nobody's, and stops no worker."""

import pytest
from kombu import Connection

from logging_app import folder_queue


@pytest.fixture
def queue(tmp_path):
    folder_queue.take_over()
    (tmp_path / "messages").mkdir()
    folders = {name: str(tmp_path / "messages") for name in ("data_folder_in", "data_folder_out")}
    options = {**folders, "control_folder": str(tmp_path / "control"), "processed_folder": str(tmp_path / "processed")}
    # A name of this test's own: kombu remembers for the whole process which queues have been made.
    with Connection("filesystem://", transport_options=options) as link, link.SimpleQueue(tmp_path.name) as queue:
        yield queue


def test_it_works(queue, tmp_path):
    queue.put({"job": 1})
    (message,) = (tmp_path / "messages").iterdir()
    assert message.name.endswith(f".{tmp_path.name}.msg")
    assert queue.get(timeout=2).payload == {"job": 1}


def test_a_message_that_was_left_empty_stops_nothing(queue, tmp_path, tally):
    (tmp_path / "messages" / f"0_left.{tmp_path.name}.msg").touch()
    (tmp_path / "messages" / f"1_written.{tmp_path.name}.msg.half").touch()
    queue.put({"job": 2})
    assert queue.get(timeout=5).payload == {"job": 2}
    assert [left.suffix for left in (tmp_path / "messages").iterdir()] == [".half"]
    tally("a message that is half there", "left empty, or not renamed yet: the next one is read", 2)
