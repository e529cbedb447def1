"""XML that came on a card: any bytes in, elements or a clear error out. Nothing that it names is ever fetched."""

from xml.etree.ElementTree import Element, ParseError

from defusedxml.ElementTree import fromstring

MOST_BYTES = 4 << 20


def parse_card_xml(data: bytes) -> Element:
    """The root element. Raises ValueError, in words that follow the file's name, for what is no XML or too long, and
    for XML with entities or a document type, which could grow or name other files."""
    if len(data) > MOST_BYTES:
        raise ValueError(f"is longer than {MOST_BYTES:,} bytes")
    try:
        # Zeros fill the space that some devices keep free.
        return fromstring(data.rstrip(b"\0 \t\r\n"), forbid_dtd=True)
    except (ParseError, ValueError, LookupError) as problem:  # LookupError: an encoding nobody knows
        raise ValueError(f"is not XML that can be read ({problem})") from None


def local_name(element: Element) -> str:
    """The name without its namespace, which differs from one version of a schema to the next."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def child(element: Element | None, *names: str) -> Element | None:
    """The first element reached through children of these names; None if there is none."""
    for name in names:
        element = next((each for each in element if local_name(each) == name), None) if element is not None else None
    return element


def text_of(element: Element | None, *names: str) -> str:
    """The text of the element reached so, trimmed; '' if there is none."""
    found = child(element, *names)
    return (found.text or "").strip() if found is not None else ""


def whole_number(text: str | None, most: int = 1 << 63) -> int | None:
    """`text` as a number from 0 to `most`; None if it is none."""
    if not text or len(text) > 20 or not text.isascii() or not text.isdecimal():
        return None
    number = int(text)
    return number if number <= most else None
