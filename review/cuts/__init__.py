"""Cut lists that come back from editing: from their bytes to events, and from events to the clips they use."""

from review.cuts.cmx3600 import read
from review.cuts.events import CutList, CutUnreadable, Event
from review.cuts.known import KnownClip
from review.cuts.matching import Choice, Footage, Found

__all__ = ["Choice", "CutList", "CutUnreadable", "Event", "Footage", "Found", "KnownClip", "read"]
