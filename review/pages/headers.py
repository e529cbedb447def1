"""The door: how much is let in, and what browsers and whatever stands before us are told not to do."""

from review.pages import errors

# Of a request. The largest that anybody sends is a returned cut; nginx has the same bound (docker/nginx.conf). Nothing
# of a form is read before this is known: not even to see whether its sender is somebody.
MOST_BYTES = 9 << 20

_POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
# A logging room asks for none of these, so nothing that got into a page could either.
_NOT_USED = ("camera", "display-capture", "geolocation", "hid", "microphone", "midi", "payment", "serial", "usb")
_PERMISSIONS = ", ".join(f"{feature}=()" for feature in _NOT_USED)
# Footage and what is said of it is for whoever signed in: no cache that others share keeps it.
_CACHING = "private, no-cache"


class ContentSecurityPolicy:
    """No script or style but our own files, no device of the person's, and no copy in a shared cache; and no request
    that is larger than any of ours."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        large = _length(request) > MOST_BYTES
        response = errors.too_large(request, MOST_BYTES) if large else self.get_response(request)
        response["Content-Security-Policy"] = _POLICY
        response["Permissions-Policy"] = _PERMISSIONS
        response.setdefault("Cache-Control", _CACHING)
        return response


def _length(request) -> int:
    text = request.META.get("CONTENT_LENGTH") or "0"
    return int(text) if text.isascii() and text.isdigit() and len(text) < 20 else 0
