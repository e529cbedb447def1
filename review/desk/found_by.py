"""What a select was found by where its row does not show it: a note from set, its logger's whole name."""

import unicodedata
from collections.abc import Iterable

from review.models import Findable, Production
from review.record import field_notes
from review.record.findables import NOTE_REACH, day_begins
from review.searching import folding
from review.searching.asking import Question, Word

_REACH = NOTE_REACH * 1_000_000
_AROUND = 40  # letters of a note before and after the word


def tell(production: Production, found: Iterable[tuple[Findable, Question]]) -> dict[int, str]:
    """By the rows' ids, where words of their question stand that no row shows: 'field note: she lets go of the rope'.
    Rows that show all of theirs are left out."""
    unshown = {row.id: (row, words) for row, question in found if (words := _unshown(row, question))}
    if not unshown:
        return {}
    times = [_times(row) for row, _ in unshown.values()]
    notes = [(note, day_begins(note.day) + note.at) for note in field_notes.between(production, times)]
    said = {}
    for row, words in unshown.values():
        since, until = _times(row)
        near = [note for note, at in notes if since <= at < until and note.camera in ("", row.select.clip.card.camera)]
        texts = [("field note", text) for note in near for text in (note.text, note.tag)]
        for kind, text in (*texts, ("logger", row.select.logger.get_full_name())):
            if cut := _around(text, Question(words)):
                said[row.id] = f"{kind}: {cut}"
                break
    return said


def _times(row: Findable) -> tuple[int, int]:
    return row.shot_at - _REACH, row.shot_at + row.milliseconds * 1000 + _REACH


def _unshown(row: Findable, question: Question) -> tuple[Word, ...]:
    """The words of a question that what the row shows has not."""
    if not question.words:
        return ()
    select = row.select
    shown = [select.note, select.clip.card.name, select.clip.name, select.logger.username]
    shown += [tag.name for tag in select.tags.all()]
    words = [word for text in shown for _, found_by in folding.pieces(text) for word in found_by]
    return tuple(asked for asked in question.words if not any(map(Question((asked,)).finds, words)))


def _around(text: str, question: Question) -> str:
    """The first of the words in a text, with what stands around it; '' if none is there."""
    text, at = unicodedata.normalize("NFC", text), 0  # as its pieces are
    for piece, found_by in folding.pieces(text):
        if any(map(question.finds, found_by)):
            before, after = text[:at], text[at + len(piece) :]
            if len(before) > _AROUND:
                before = "…" + before[-_AROUND:].partition(" ")[2]
            if len(after) > _AROUND:
                after = after[:_AROUND].rpartition(" ")[0] + "…"
            return before + piece + after
        at += len(piece)
    return ""
