"""The XML file of a clip on an MXF card with CONTENTS. Element names as public readers of such cards have them."""

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from review.card_xml import child, local_name, parse_card_xml, text_of, whole_number

_MOST_FILES = 100  # the number of a sound file has two digits
_LONGEST = 100  # characters of a name or id
_MOST_FRAMES = 1 << 40


@dataclass(frozen=True)
class ClipXml:
    """`duration` and `offset` (from the shot's beginning) are in the clip's edit units; None if they are not said.

    A shot is one recording, over several clips if it is long: `previous` and `following` are the ids of the clips that
    it came from and goes on in, perhaps on another card; `following_name` and `previous_name` their names.
    """

    clip_id: str = ""
    has_picture: bool = True
    sound_files: int = 0
    duration: int | None = None
    shot_id: str = ""
    offset: int | None = None
    previous: str = ""
    previous_name: str = ""
    following: str = ""
    following_name: str = ""


def parse_clip_xml(data: bytes) -> ClipXml:
    """Read the file. Raises ValueError, saying why, if it does not describe a clip."""
    root = parse_card_xml(data)
    content = root if local_name(root) == "ClipContent" else child(root, "ClipContent")
    essence = child(content, "EssenceList")
    if essence is None:
        raise ValueError("does not say which files the clip is made of")
    relation = child(content, "Relation")
    connection = child(relation, "Connection")
    return ClipXml(
        clip_id=_id(content),
        has_picture=child(essence, "Video") is not None,
        sound_files=min(_MOST_FILES, sum(local_name(each) == "Audio" for each in essence)),
        duration=whole_number(text_of(content, "Duration"), _MOST_FRAMES),
        shot_id=text_of(relation, "GlobalShotID"),
        offset=whole_number(text_of(relation, "OffsetInShot"), _MOST_FRAMES),
        previous=_id(child(connection, "Previous")),
        previous_name=text_of(child(connection, "Previous"), "ClipName")[:_LONGEST],
        following=_id(child(connection, "Next")),
        following_name=text_of(child(connection, "Next"), "ClipName")[:_LONGEST],
    )


def _id(element: Element | None) -> str:
    return text_of(element, "GlobalClipID")[:_LONGEST]
