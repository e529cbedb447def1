from review.crew import people
from review.custody import sealing
from review.management.plainly import PlainCommand
from review.management.progress_line import ProgressLine
from review.models import Person, Production
from review.refusals import Refusal


class Command(PlainCommand):
    help = (
        "Seal a card: read every byte again, and if it is what was trusted, write a new generation of its ASC MHL "
        "history, in its ascmhl folder. Nothing else on the card is touched."
    )

    def add_arguments(self, parser):
        parser.add_argument("card", help="the card's name")
        parser.add_argument("--production", required=True, metavar="CODE")
        parser.add_argument("--by", required=True, metavar="LOGIN", help="who seals it")
        parser.add_argument("--reason", default="", metavar="TEXT", help="kept in the manifest as its comment")

    def run(self, *, card, production, by, reason, **options):
        production = people.find_production(production)
        card = _find_card(production, card)
        person = _find_person(by)
        line = ProgressLine()
        line.begin(f"seal {card.name}")
        try:
            path = sealing.seal(
                person,
                card,
                reason=reason,
                progress=lambda done, total: line.tell(f"seal {card.name}", done, total, in_bytes=True),
            )
        finally:
            line.end()
        self.stdout.write(str(path))


def _find_card(production: Production, name: str):
    card = production.cards.select_related("production").filter(name=name).first()
    if card is None:
        raise Refusal(f"{production.code} has no card {name!r}; take it in with: manage.py intake FOLDER", "card")
    return card


def _find_person(login: str) -> Person:
    person = Person.objects.filter(username__iexact=login).first()
    if person is None:
        raise Refusal(f"Nobody has the sign-in name {login!r}; make it with: manage.py member", "by")
    return person
