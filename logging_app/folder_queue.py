"""kombu's queue in a folder, in which a message appears whole.

kombu opens a message's file and then writes it; a worker that looks in between takes an empty one, and stops for it.
"""

import logging
import uuid
from pathlib import Path
from time import monotonic

from kombu.transport import TRANSPORT_ALIASES, filesystem
from kombu.utils.json import dumps

log = logging.getLogger(__name__)


class Channel(filesystem.Channel):
    def _put(self, queue: str, payload: dict, **kwargs) -> None:
        name = f"{round(monotonic() * 1000)}_{uuid.uuid4()}.{queue}.msg"
        half = Path(self.data_folder_out) / f"{name}.half"  # which is no queue's
        try:
            half.write_text(dumps(payload))
            half.replace(half.with_suffix(""))
        except OSError as problem:
            half.unlink(missing_ok=True)
            raise filesystem.ChannelError(f"Cannot write {half}: {problem.strerror}") from problem

    def _get(self, queue: str) -> dict:
        while True:
            try:
                return super()._get(queue)
            except ValueError:  # a power cut left it empty, and it is gone now; its job's row has it sent again
                log.warning("a message of the queue %s could not be read", queue)


class Transport(filesystem.Transport):
    Channel = Channel


def take_over() -> None:
    """Let filesystem:// mean this one."""
    TRANSPORT_ALIASES["filesystem"] = f"{__name__}:Transport"
