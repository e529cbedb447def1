from pathlib import Path

from django.core.management.base import CommandError

from review.desk import exporting
from review.exports import FORMATS
from review.management.plainly import PlainCommand
from review.models import SelectsList


class Command(PlainCommand):
    help = "Write a selects list to a folder as an EDL, CSV or OTIO file, and keep it as a version of the list."

    def add_arguments(self, parser):
        parser.add_argument("list", help="the list's number or name")
        parser.add_argument("--production", metavar="CODE", help="where the list is, if several have one of this name")
        parser.add_argument("--format", required=True, choices=list(FORMATS))
        parser.add_argument("--output", required=True, type=Path, metavar="FOLDER")
        parser.add_argument(
            "--channels", metavar="CODE", help="EDL: 'clip' (as each clip has them), or V, A, AA, AA/V …"
        )
        parser.add_argument("--order", help="EDL: record (as the list) or source (by reel and source in)")
        parser.add_argument("--start", metavar="TIMECODE", help="EDL: record timecode of the first event")
        parser.add_argument("--rate", help="EDL: the record rate, 25 or 29.97DF …; else each source's own")
        parser.add_argument("--reels", help="EDL: short (eight characters) or long (card names)")
        parser.add_argument("--table", action="store_const", const="yes", help="EDL: with the table of reels and files")
        parser.add_argument("--columns", help="CSV: names of columns, separated by commas")

    def run(self, *, list, production, format, output, **given):
        file = exporting.export(self._find(list, production), format, exporting.read_options(given))
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
