"""The tables, one file per idea. A model checks its own consistency and does no I/O."""

from review.models.activity import Activity
from review.models.card import Card, CardFile
from review.models.clip import Clip
from review.models.copy import Copy, Medium, TapeDrive
from review.models.cut import Cut, CutEvent
from review.models.findable import Findable, FindableCard, FindableWord, NamedSearch
from review.models.former_word import FormerWord
from review.models.job import Job, ReadFile
from review.models.keeping import WorthKeeping
from review.models.list import ListEntry, ListExport, ListSection, SelectsList
from review.models.note import FieldNote
from review.models.pace import WorkedSlot
from review.models.person import Person
from review.models.production import Membership, Production
from review.models.select import ClipTag, Select, Tag
from review.models.split import Piece, Split
from review.models.stint import SecondLook, Stint
from review.models.stringout import Stringout
from review.models.token import AccessToken
from review.models.watch import SeenBy, Unwatched, Viewing, WatchedRange
from review.models.worker import WorkerSeen

__all__ = [
    "AccessToken",
    "Activity",
    "Card",
    "CardFile",
    "Clip",
    "ClipTag",
    "Copy",
    "Cut",
    "CutEvent",
    "FieldNote",
    "Findable",
    "FindableCard",
    "FindableWord",
    "FormerWord",
    "Job",
    "ListEntry",
    "ListExport",
    "ListSection",
    "Medium",
    "Membership",
    "NamedSearch",
    "Person",
    "Piece",
    "Production",
    "ReadFile",
    "SecondLook",
    "SeenBy",
    "Select",
    "SelectsList",
    "Split",
    "Stint",
    "Stringout",
    "Tag",
    "TapeDrive",
    "Unwatched",
    "Viewing",
    "WatchedRange",
    "WorkedSlot",
    "WorkerSeen",
    "WorthKeeping",
]
