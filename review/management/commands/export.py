from pathlib import Path

from django.core.management.base import CommandError

from review import lists
from review.exports import FORMATS
from review.management.plainly import PlainCommand
from review.models import SelectsList


class Command(PlainCommand):
    help = "Write a selects list to a folder as an EDL, CSV or OTIO file."

    def add_arguments(self, parser):
        parser.add_argument("list", help="the list's number or name")
        parser.add_argument("--production", metavar="CODE", help="where the list is, if several have one of this name")
        parser.add_argument("--format", required=True, choices=list(FORMATS))
        parser.add_argument("--output", required=True, type=Path, metavar="FOLDER")

    def run(self, *, list, production, format, output, **options):
        file = lists.export(self._find(list, production), format)
        output.mkdir(parents=True, exist_ok=True)
        written = output / file.name
        unfinished = output / f".{file.name}.part"
        unfinished.write_bytes(file.content)
        unfinished.replace(written)
        self.stdout.write(str(written))

    def _find(self, wanted: str, code: str | None) -> SelectsList:
        found = SelectsList.objects.select_related("production").order_by("production__code", "id")
        if code:
            found = found.filter(production__code=code.upper())
        by_name = found.filter(name=wanted)
        if not by_name and wanted.isdecimal():
            by_name = found.filter(id=wanted)
        if len(by_name) == 1:
            return by_name[0]
        if by_name:
            codes = ", ".join(each.production.code for each in by_name)
            raise CommandError(f"Several productions have a list {wanted!r} ({codes}); say which with --production.")
        known = ", ".join(f"{each.id} {each.name!r}" for each in found[:10]) or "none yet"
        raise CommandError(f"There is no list {wanted!r}; there is: {known}")
