import io

from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import JSONParser

MOST_BYTES = 9 << 20  # of a body; the largest that is asked for is the text of a returned cut


class TooLarge(APIException):
    status_code = 413
    default_detail = (
        f"The body has more than {MOST_BYTES:,} bytes, which is the most that is read; send less at a time."
    )


class Json(JSONParser):
    """JSON whose size and nesting are bounded: what is too large or too deep is the sender's fault, not ours."""

    def parse(self, stream, media_type=None, parser_context=None):
        body = stream.read(MOST_BYTES + 1)
        if len(body) > MOST_BYTES:
            raise TooLarge
        try:
            return super().parse(io.BytesIO(body), media_type, parser_context)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply to be read.") from None
