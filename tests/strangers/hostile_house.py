"""A production in which every text that anybody can write, or that comes on a card, is an attack.

What people write goes in through the use cases that take it; what only a card, a drive or a machine can say is written
into the rows. `texts_left_out` then tells which text of which table holds none: a new one cannot be forgotten.
"""

import uuid
from pathlib import Path

from django.apps import apps
from django.db import models
from django.utils import timezone

from review.crew import people, tokens
from review.custody import intake, shelf
from review.desk import arranging, exporting, keeping, lists, returned_cuts, searches, stringouts
from review.marking import selecting, tagging, taking_notes
from review.models import Activity, Card, Clip, Copy, Job, Medium, Membership, ReadFile, Split
from review.record import presence, stints
from review.team import planning, second_looks
from review.work import jobs, workers
from tests.conftest import check, film, work_off

# Elements that no page has: where one stands in the document, somebody's text was taken for markup.
TRACE = "x-a"
_MARKUP = f"<{TRACE}><svg onload=alert(1)><img src=x onerror=alert(2)>"
ON_A_CARD = f"""A"'>{_MARKUP}<script>alert(3)<!--"""  # a name of a file has no slash
WRITTEN = f"""B</script></textarea></title></style>"'`>{_MARKUP}<script>alert(4)</script>{{{{ 7|add:7 }}}}"""
SHORT = f"C'\"></b><{TRACE}>"
# What is in the page where such a text was taken for more than a text.
INJECTED = f"{TRACE}, [onload], [onerror], img[src='x'], [href^='javascript:'], [action^='javascript:']"

# Fields of text that nobody outside can fill with words: what they are instead.
_NO_WORDS = {
    "Production.code": "two letters and two digits",
    "Production.name_rule": "a rule that is read and refused",
    "Card.reel": "made from the name, eight letters and digits",
    "Card.camera": "one letter",
    "Card.fingerprint": "a digest",
    "Card.contents": "a digest",
    "Card.accepted_stops": "the findings, kept to be compared",
    "CardFile.hashes": "digests",
    "CardFile.trusted_digest": "a digest",
    "Clip.file_frames": "numbers",
    "Clip.filmstrip": "numbers, and names of ours",
    "Copy.fingerprint": "a digest",
    "Copy.file_system": "a number of the machine",
    "Medium.kind": "a key of ours",
    "Activity.subject": "an id",
    "Cut.sha256": "a digest",
    "CutEvent.number": "twelve characters that the reader of cut lists takes",
    "CutEvent.edit": "words of ours",
    "CutEvent.source_in": "a timecode",
    "CutEvent.source_out": "a timecode",
    "CutEvent.record_in": "a timecode",
    "CutEvent.record_out": "a timecode",
    "Tag.key": "one letter",
    "Findable.words": "letters and digits of what was written",
    "FindableWord.word": "letters and digits of what was written",
    "FindableCard.seen": "numbers and a digest",
    "NamedSearch.query": "written again by us, percent-encoded",
    "ReadFile.hashes": "digests",
    "SelectsList.options": "choices of ours",
    "ListExport.kind": "a key of ours",
    "ListExport.options": "choices of ours",
    "ListExport.events": "ids and numbers",
    "ListExport.name": "made fit for a file name",
    "ListExport.content_type": "ours",
    "ListExport.sha256": "a digest",
    "FieldNote.timecode": "a timecode",
    "FieldNote.camera": "one letter",
    "FieldNote.digest": "a digest",
    "WorkedSlot.camera": "one letter",
    "Person.password": "a hash",
    "Person.username": "letters, digits and @ . + - _",
    "Person.habits": "names of keys",
    "Split.hours": "sign-in names and numbers",
    "Stringout.events": "ids and numbers",
    "Stringout.file": "ours",
    "AccessToken.start": "ours",
    "AccessToken.digest": "a digest",
}


def _written(most: int = 10_000) -> str:
    return WRITTEN if len(WRITTEN) <= most else SHORT


class House:
    """Fill `cast`'s production; `root` is the card root. `numbers` has an id for every address with a number in it."""

    def __init__(self, cast, root: Path):
        self.cast, self.production = cast, cast.kb04
        people.make_production("KB04", _written(200), cast.kb04.timebase)
        cast.kb04.refresh_from_db()
        for person in (cast.logger, cast.owner, cast.editor):
            person.first_name = person.last_name = person.email = _written(150)
            person.save()
        self.clip = self._shoot(root)
        self.card = self.clip.card
        self.numbers = {"cards": self.card.id, "clips": self.clip.id, "media": self.clip.id, "agreement": self.clip.id}
        self._log()
        self._pull()
        self._plan()
        self._keep()
        self._work()
        self._rows()

    def _shoot(self, root: Path) -> Clip:
        folder = root / ON_A_CARD
        film(folder / (ON_A_CARD + ".MOV"))
        (folder / f"{ON_A_CARD}.md5").write_text(f"{'0' * 32}  {ON_A_CARD}.TXT\n")
        card = check(folder, self.production)
        intake.accept(card, self.cast.media_manager, WRITTEN)
        work_off()
        (root / f"other {ON_A_CARD}").mkdir()
        # Its name says no day: it is given one, so that it is on the pages that go by days.
        Card.objects.filter(id=card.id).update(shoot_date="2026-11-12", camera="A", number=1)
        clip = card.clips.select_related("card__production").get()
        clip.channel_names, clip.notes, clip.timecode_source = [_written()] * 2, [_written()], _written(80)
        clip.frame_doubt = _written()
        clip.save()
        return clip

    def _log(self) -> None:
        cast, clip, production = self.cast, self.clip, self.production
        tag = tagging.add(cast.owner, production, _written(60), _written(30))
        tagging.add(cast.owner, production, f"other {SHORT}")
        old = tagging.add(cast.owner, production, f"former {SHORT}")
        tagging.merge(cast.owner, [old], tag)
        self.selects = [
            selecting.put(cast.logger, uuid.uuid4(), clip, selecting.Mark(at, at + 10, (tag.name,), _written(), 3), 0)
            for at in (0, 20)
        ]
        keeping.flag(cast.logger, self.selects[0], "recognisable", _written())
        presence.leave(cast.editor, clip, uuid.uuid4(), 5, _written(300))
        notes = f'date,timecode,text,tag\n2026-11-12,10:00:00:05,"{_cell(_written())}","{_cell(_written(60))}"\n'
        assert taking_notes.take(cast.owner, production, notes.encode())
        look = second_looks.ask(cast.editor, clip, 0, 10, _written(200))
        search = searches.name(cast.editor, production, _written(80), f"text={SHORT.replace('&', '')}&tag={SHORT}")
        self.numbers |= {
            "selects": self.selects[0].id,
            "tags": tag.id,
            "notes": production.field_notes.get().id,
            "keeping": self.selects[0].id,
            "second-looks": look.id,
            "searches": search.id,
            "selects/searches": search.id,
        }

    def _pull(self) -> None:
        cast = self.cast
        made = lists.make(cast.editor, self.production, _written(200), [each.id for each in self.selects])
        made = arranging.add_section(cast.editor, made, made.version, _written(120), self.selects[1].id)
        exporting.export_by(cast.editor, made, "csv")
        stringout = stringouts.ask(cast.editor, made)
        edl = (
            f"TITLE: {ON_A_CARD}\n001  {ON_A_CARD[:30].replace(' ', '_')} V     C        "
            "10:00:00:00 10:00:01:00 01:00:00:00 01:00:01:00\n"
            f"* FROM CLIP NAME: {ON_A_CARD}\n* COMMENT: {WRITTEN}\n{WRITTEN}\n"
        )
        cut = returned_cuts.take_in(cast.editor, self.production, ON_A_CARD + ".edl", edl.encode(), name=_written(200))
        self.numbers |= {"lists": made.id, "stringouts": stringout.id, "cuts": cut.id}

    def _plan(self) -> None:
        cast = self.cast
        stint = stints.take(cast.logger, self.clip, 0, 20)
        split = planning.propose(cast.owner, self.production, {"cards": [self.card.name]}, {"logger": 8, "owner": 8})
        self.numbers |= {"stints": stint.id, "splits": split.id, "days": "2026-11-12"}

    def _keep(self) -> None:
        cast = self.cast
        medium = Medium.objects.create(production=self.production, volume=f"named:{_written(200)}", kind="disk")
        says = shelf.Description(_written(80), "disk", _written(80), True, None, None, None)
        shelf.describe(cast.media_manager, medium, says)
        copy = self.card.copies.create(medium=medium, folder=f"/nowhere/{_written()}", state="failed")
        drive = shelf.add_drive(cast.media_manager, self.production, _written(80), 8, None)
        token, _ = tokens.issue(cast.owner, _written(80))
        member = Membership.objects.get(person=cast.logger)
        self.numbers |= {"copies": copy.id, "shelf/media": medium.id, "shelf/drives": drive.id}
        self.numbers |= {"tokens": token.id, "people": member.id}

    def _work(self) -> None:
        job = jobs.ask(Job.Kind.PICTURES, card=self.card, clip=self.clip, why=_written(200))
        ReadFile.objects.create(job=job, path=_written(), size=1, modified=1, hashes={})
        workers.heard(_written(120), [_written(200)])
        Job.objects.update(state="failed", finished_at=timezone.now())
        self.numbers |= {"jobs": job.id, "machines/jobs": job.id}

    def _rows(self) -> None:
        """What a card, a drive or a machine says, and no use case takes from a person."""
        finding = {"code": "altered", "severity": "caution", "what": WRITTEN, "next": WRITTEN, "where": ON_A_CARD}
        Card.objects.update(findings=[finding, finding | {"severity": "stop"}], layout=_written(60))
        Card.objects.update(manifests=[ON_A_CARD])
        Clip.objects.update(sidecars=[ON_A_CARD], sound_files=[[ON_A_CARD]], probe={"rate": WRITTEN})
        Clip.objects.update(proxy_problem=WRITTEN)
        Copy.objects.update(findings=[finding])
        Job.objects.update(error=WRITTEN, log=WRITTEN)
        Split.objects.update(wanted=Split.objects.get().wanted | {"tags": [SHORT], "urgent_tags": [SHORT]})
        stint = stints.Stint.objects.get()
        stint.pk, stint.ended_at, stint.ended_why = None, timezone.now(), _written(60)
        stint.save()
        found = self.production.cuts.get()
        found.events.update(why=WRITTEN, reel=ON_A_CARD, clip_name=ON_A_CARD, channels=SHORT)
        found.events.update(nearest=[{"words": WRITTEN}])
        found.remarks = [WRITTEN]
        found.save()
        Activity(production=self.production, about="card", did=_written(40), words=WRITTEN, card=self.card).save()


def _cell(text: str) -> str:
    return text.replace('"', '""')


def texts_left_out() -> set[str]:
    """Each field of text in the tables that holds no attack, and is none of those that cannot."""
    left = set()
    for table in apps.get_app_config("review").get_models():
        for field in table._meta.get_fields():
            if not isinstance(field, models.CharField | models.TextField | models.JSONField) or field.choices:
                continue
            values = table._default_manager.values_list(field.name, flat=True)
            if not any(f"<{TRACE}>" in str(value).lower() for value in values):
                left.add(f"{table.__name__}.{field.name}")
    return left - set(_NO_WORDS)
