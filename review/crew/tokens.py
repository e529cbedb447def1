"""Access tokens: what lets a script act for a person.

Only a token's digest is kept. It is long and random, so one round of SHA-256 is enough: there is nothing to guess.
"""

import hashlib
import secrets
from datetime import timedelta

from django.utils import timezone

from review.models import AccessToken, Person
from review.refusals import NotFound, Refusal

LONGEST_DAYS = 366
USUAL_DAYS = 90
MOST = 50  # that work, a person
_USED_EVERY = timedelta(hours=1)  # how exactly the last use is kept

Scope = AccessToken.Scope


def issue(person: Person, name: str, scope: str = Scope.READ, days: int = USUAL_DAYS) -> tuple[AccessToken, str]:
    """A new token of `scope` that works for `days` days. Returns it, and what to send: it cannot be shown again."""
    name = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    if not 1 <= len(name) <= 80:
        raise Refusal("Say in up to 80 characters what the token is for, so that you know which to revoke.", "name")
    if scope not in Scope.values:
        raise Refusal(f"{scope!r} is not a scope; a token may read, or read and write.", "scope")
    if not 1 <= days <= LONGEST_DAYS:
        raise Refusal(f"A token works for 1 to {LONGEST_DAYS} days; make a new one after that.", "days")
    if working(person).count() >= MOST:
        raise Refusal(f"You have {MOST} tokens that work; revoke those that no script uses.", "name")
    key = secrets.token_urlsafe(32)
    token = AccessToken.objects.create(
        person=person,
        name=name,
        start=key[:6],
        digest=digest_of(key),
        scope=scope,
        expires=timezone.now() + timedelta(days=days),
    )
    return token, key


def digest_of(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def working(person: Person):
    """A person's tokens that are neither revoked nor too old."""
    return person.tokens.filter(revoked_at=None).exclude(expires__lte=timezone.now())


def find(key: str) -> AccessToken | None:
    """The token that this is, if it still works and its person may sign in."""
    token = AccessToken.objects.select_related("person").filter(digest=digest_of(key), revoked_at=None).first()
    if token is None or not token.person.is_active:
        return None
    now = timezone.now()
    if token.expires is not None and token.expires <= now:
        return None
    if token.used_at is None or now - token.used_at > _USED_EVERY:
        AccessToken.objects.filter(id=token.id).update(used_at=now)
    return token


def revoke(person: Person, token_id: int) -> AccessToken:
    """End one of a person's own tokens. Twice is once."""
    token = person.tokens.filter(id=token_id).first()
    if token is None:
        raise NotFound("You have no such token; look at the list again.")
    person.tokens.filter(id=token_id, revoked_at=None).update(revoked_at=timezone.now())
    return token


def revoke_all(person: Person) -> int:
    """End all tokens of somebody who is not to sign in any more. Returns how many."""
    return working(person).update(revoked_at=timezone.now())
