"""Commands that answer a refusal with one clear line and a non-zero exit, never a traceback."""

from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from review.management.serving import make_queue
from review.refusals import Refusal


class PlainCommand(BaseCommand):
    """Subclasses write `run`; a Refusal becomes the error line. The tables are brought up to date first."""

    requires_system_checks: list = []
    tables_first = True

    def handle(self, *args, **options):
        try:
            if self.tables_first:
                bring_tables_up_to_date()
            return self.run(**options)
        except Refusal as refusal:
            raise CommandError(" ".join(refusal.message.split())) from None
        except OperationalError as problem:
            raise CommandError(f"The database does not answer: {' '.join(str(problem).split())}") from None
        except OSError as problem:
            raise CommandError(f"{problem.filename or 'A file'}: {problem.strerror or problem}") from None

    def run(self, **options):
        raise NotImplementedError


def bring_tables_up_to_date() -> None:
    """Make the home and its queue if they are missing, and the tables as this version wants them."""
    from django.conf import settings
    from django.core.management import call_command

    settings.HOME.mkdir(parents=True, exist_ok=True)
    if settings.EMBEDDED:
        make_queue()
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", interactive=False, verbosity=0)
