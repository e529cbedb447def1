"""Several files of one export, handed over as one."""

import io
import zipfile
from collections.abc import Sequence
from itertools import takewhile

from review.exports.pull import ExportFile
from review.exports.text import file_name


def bundle(files: Sequence[ExportFile]) -> ExportFile:
    """A single file as it is; several as a zip named by what their names share. Equal files give an equal zip."""
    if len(files) == 1:
        return files[0]
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for file in files:
            # ZipInfo's own date, 1980-01-01, keeps the bytes the same from day to day
            archive.writestr(zipfile.ZipInfo(file.name), file.content, zipfile.ZIP_DEFLATED)
    shared = takewhile(lambda letters: len(set(letters)) == 1, zip(*(file.name for file in files), strict=False))
    name = file_name("".join(letters[0] for letters in shared), "zip")
    return ExportFile(name, packed.getvalue(), "application/zip")
