"""Files as HTTP responses: exports to be saved, and media in the byte ranges that players ask for."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.utils.http import content_disposition_header, http_date, quote_etag

from review.exports import ExportFile
from review.refusals import NotFound

_PIECE = 1 << 20  # bytes read at a time; small pieces halve the speed
_RANGE = re.compile(r"bytes=(\d{0,18})-(\d{0,18})")
_TYPES = {
    ".mp4": "video/mp4",
    ".jpg": "image/jpeg",
    ".bin": "application/octet-stream",
    ".json": "application/json",
}


def download(file: ExportFile) -> HttpResponse:
    response = HttpResponse(file.content, content_type=file.content_type)
    response["Content-Disposition"] = content_disposition_header(True, file.name)
    response["X-Content-Type-Options"] = "nosniff"
    return response


def media(request: HttpRequest, path: Path) -> HttpResponseBase:
    """A file below MEDIA_HOME, whole or the one range asked for (RFC 9110, section 14). Who may see it
    has been decided. Raises NotFound where there is none (yet). With RUSHLIGHT_ACCEL set, nginx is told to
    send it instead."""
    try:
        file = path.open("rb")
    except OSError:
        raise NotFound("This has not been made yet, or is being made again; try again in a moment.") from None
    if settings.ACCEL_PREFIX:
        file.close()
        response = HttpResponse(content_type=_TYPES[path.suffix])
        response["X-Accel-Redirect"] = f"{settings.ACCEL_PREFIX}/{path.relative_to(settings.MEDIA_HOME)}"
    else:
        response = _ranged(request, file)
        response["Content-Type"] = _TYPES[path.suffix]
    response["Cache-Control"] = "private, max-age=3600"
    return response


def _ranged(request: HttpRequest, file: BinaryIO) -> HttpResponseBase:
    facts = Path(file.name).stat()
    size = facts.st_size
    etag = quote_etag(f"{facts.st_mtime_ns:x}-{size:x}")
    asked = request.headers.get("Range", "")
    if request.headers.get("If-Range", etag) != etag:
        asked = ""
    if not asked and request.headers.get("If-None-Match") == etag:
        file.close()
        return HttpResponse(status=304)
    first, last, status = 0, size - 1, 200
    if match := _RANGE.fullmatch(asked.strip()):
        first, last = _resolve(match[1], match[2], size)
        if first > last:
            file.close()
            return HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
        status = 206
    response = StreamingHttpResponse(_pieces(file, first, last - first + 1), status=status)
    if status == 206:
        response["Content-Range"] = f"bytes {first}-{last}/{size}"
    response["Content-Length"] = str(last - first + 1)
    response["Accept-Ranges"] = "bytes"
    response["ETag"] = etag
    response["Last-Modified"] = http_date(facts.st_mtime)
    return response


def _resolve(first: str, last: str, size: int) -> tuple[int, int]:
    """The range as first and last byte, both meant; first > last when it cannot be had."""
    if not first:
        return (max(0, size - int(last)), size - 1) if last and int(last) else (1, 0)
    end = min(int(last), size - 1) if last else size - 1
    return int(first), end


def _pieces(file: BinaryIO, start: int, left: int) -> Iterator[bytes]:
    with file:
        file.seek(start)
        while left > 0 and (piece := file.read(min(_PIECE, left))):
            left -= len(piece)
            yield piece
