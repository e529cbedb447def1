"""Which files a running check or proof has read, kept in rows as it goes: one that was cut short goes on from there."""

import time

from review.cards import hashing
from review.models import Job, ReadFile
from review.work import jobs

_MOST_UNWRITTEN = 500  # files
_WRITE_EVERY = 1.0  # seconds


class Reading:
    """The files that one job has read, in this run and in those before it."""

    def __init__(self, job: Job):
        self._job = job
        self._unwritten: dict[str, hashing.ReadFile] = {}
        self._written_at = time.monotonic()
        ReadFile.objects.filter(job__card=job.card_id).exclude(job__state__in=jobs.OPEN).delete()  # given up
        rows = job.read_files.values_list("path", "size", "modified", "hashes")
        self.already = {path: hashing.ReadFile(*facts) for path, *facts in rows}

    @property
    def bytes_already(self) -> int:
        return sum(file.size for file in self.already.values())

    def read(self, path: str, file: hashing.ReadFile) -> None:
        """A file was read to its end."""
        self._unwritten[path] = file
        self.write_when_due()

    def write_when_due(self) -> None:
        """Write down what was read, not more often than once a second or some hundred files."""
        waited = time.monotonic() - self._written_at
        if self._unwritten and (waited >= _WRITE_EVERY or len(self._unwritten) >= _MOST_UNWRITTEN):
            self._write()

    def _write(self) -> None:
        rows = [
            ReadFile(job=self._job, path=path, size=file.size, modified=file.modified, hashes=dict(file.hashes))
            for path, file in self._unwritten.items()
        ]
        ReadFile.objects.bulk_create(
            rows,
            update_conflicts=True,  # it was read once before, and has changed since
            unique_fields=["job", "path"],
            update_fields=["size", "modified", "hashes"],
        )
        self._unwritten.clear()
        self._written_at = time.monotonic()

    def forget(self) -> None:
        """The check has come to its end: its results say it all."""
        self._job.read_files.all().delete()
