from review import roles
from review.crew import people, tokens
from review.management.plainly import PlainCommand


class Command(PlainCommand):
    help = "Give somebody a role in a production. Prints a fresh password, or with --token an API token."

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name they sign in with")
        parser.add_argument("--production", required=True, metavar="CODE")
        parser.add_argument("--role", required=True, help=f"one of: {', '.join(roles.ROLES)}")
        parser.add_argument("--token", action="store_true", help="print an API token for scripts instead of a password")

    def run(self, *, name, production, role, token, **options):
        production = people.find_production(production)
        person, password = people.add_member(name, production, role.replace("-", " ").replace("_", " ").lower())
        self.stderr.write(f"{person.username} is {role} of {production}.")
        if token:
            made, key = tokens.issue(person, "made by manage.py member", tokens.Scope.WRITE, tokens.LONGEST_DAYS)
            self.stderr.write(f"It works until {made.expires:%d %B %Y}; the page Tokens revokes it.")
            self.stdout.write(key)
        else:
            if password is None:
                self.stderr.write("They have a new password; the one before has stopped working.")
            self.stdout.write(password or people.renew_password(person))
