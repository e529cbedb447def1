"""The tables, one file per idea. A model checks its own consistency and does no I/O."""

from review.models.card import Card, CardFile
from review.models.clip import Clip
from review.models.copy import Copy, Medium, TapeDrive
from review.models.job import Job, ReadFile
from review.models.list import ListEntry, SelectsList
from review.models.note import FieldNote
from review.models.person import Person
from review.models.production import Membership, Production
from review.models.select import Select, Tag
from review.models.stint import Stint
from review.models.watch import Viewing, WatchedRange

__all__ = [
    "Card",
    "CardFile",
    "Clip",
    "Copy",
    "FieldNote",
    "Job",
    "ListEntry",
    "Medium",
    "Membership",
    "Person",
    "Production",
    "ReadFile",
    "Select",
    "SelectsList",
    "Stint",
    "Tag",
    "TapeDrive",
    "Viewing",
    "WatchedRange",
]
