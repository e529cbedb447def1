"""The production's tag set: words in groups, the commonest with a key of their own.

Words come by themselves, with the selects that use them; whoever may tidies them afterwards. A word that was renamed or
merged away goes on meaning the tag that it became, wherever somebody still writes it.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Count, QuerySet, Sum
from django.db.models.functions import Coalesce

from review import roles
from review.crew import access
from review.crew.activity import happened
from review.models import Activity, Clip, FormerWord, Person, Production, Select, Tag
from review.record import clip_tags, findables
from review.refusals import Refusal

# Letters that the watching page leaves to tags (its own are in static/review/js/keys.js), the
# ones under the left hand first.
LETTERS = "asdfgqwertzxcvbyhp"
LONGEST_WORD = 60  # characters
LONGEST_GROUP = 30
MOST_TAGS = 5_000  # in a production

_CONTROL = re.compile(r"[\x00-\x1f\x7f]")


def know(production: Production, name: str, group: str = "") -> Tag:
    """The production's tag of this name, or that it was renamed to or merged into; made with the next free key if it
    is new to it."""
    folded = name.casefold()
    became = production.former_words.filter(folded=folded).select_related("tag").first()
    if became and not production.tags.filter(folded=folded).exists():
        return became.tag
    tag, _ = production.tags.get_or_create(
        folded=folded, defaults={"name": name, "group": group, "key": _free_key(production)}
    )
    return tag


def know_all(production: Production, groups: dict[str, Sequence[str]]) -> None:
    for group, names in groups.items():
        for name in names:
            know(production, name, group)


def _free_key(production: Production) -> str:
    taken = set(production.tags.values_list("key", flat=True))
    return next((letter for letter in LETTERS if letter not in taken), "")


# Tidying -----------------------------------------------------------------------------------------


def counted(production: Production) -> QuerySet[Tag]:
    """The tags, each with `uses`: how many selects have it that are not deleted."""
    return production.tags.annotate(uses=Coalesce(Sum("on_clips__selects"), 0))


def add(person: Person, production: Production, name: str, group: str = "") -> Tag:
    """A new word, without a key. A former word becomes one of its own again."""
    name, group = _word(name), _group(group)
    with _tidying(person, production):
        _refuse_known(production, name)
        _refuse_many(production, 1)
        tag = _add(production, name, group)
        _tell(person, tag, "added the tag", f"{tag.name}{f' to {group}' if group else ''}")
    return tag


def rename(person: Person, tag: Tag, name: str) -> Tag:
    """Another word for the same thing: every select that has it has the new one."""
    name = _word(name)
    with _tidying(person, tag.production):
        tag = _fresh(tag)
        before = tag.name
        if name == before:
            return tag
        _refuse_known(tag.production, name, but=tag)
        tag.production.former_words.filter(folded=name.casefold()).delete()
        if name.casefold() != tag.folded:
            _remember(tag.production, before, tag)
        tag.name, tag.folded = name, name.casefold()
        tag.save(update_fields=["name", "folded"])
        findables.keep(list(tag.selects.values_list("id", flat=True)))
        _tell(person, tag, "renamed the tag", f"{before} to {name}")
    return tag


def change(
    person: Person, tag: Tag, *, name: str | None = None, group: str | None = None, key: str | None = None
) -> Tag:
    """Rename, move and give the key, all or nothing; what is None stays as it is."""
    with _tidying(person, tag.production):
        if name is not None:
            tag = rename(person, tag, name)
        if group is not None:
            move(person, tag.production, [tag], group)
        if key is not None:
            tag = set_key(person, tag, key)
    return _fresh(tag)


def move(person: Person, production: Production, tags: Iterable[Tag], group: str) -> int:
    """Put tags into a group (''  is none). Returns how many were in another."""
    group = _group(group)
    with _tidying(person, production):
        moved = list(production.tags.filter(id__in=[tag.id for tag in tags]).exclude(group=group))
        production.tags.filter(id__in=[tag.id for tag in moved]).update(group=group)
        if moved:
            names = ", ".join(tag.name for tag in moved)
            _tell(person, moved[0], "moved to the group", f"{group or 'without a name'}: {names}")
    return len(moved)


def set_key(person: Person, tag: Tag, key: str) -> Tag:
    """Give the tag a key, or take it away (''). Another tag that had it loses it."""
    key = key.strip().lower()
    if key and (len(key) != 1 or key not in LETTERS):
        raise Refusal(f"A tag's key is one of {' '.join(sorted(LETTERS))}; the other keys do something else.", "key")
    with _tidying(person, tag.production):
        tag = _fresh(tag)
        if tag.key == key:
            return tag
        had_it = key and tag.production.tags.filter(key=key).first()
        tag.production.tags.filter(key=key).exclude(key="").update(key="")
        before, tag.key = tag.key, key
        tag.save(update_fields=["key"])
        if key:
            words = f"{key.upper()} to {tag.name}{f', from {had_it.name}' if had_it else ''}"
            _tell(person, tag, "gave the key", words)
        else:
            _tell(person, tag, "took the key", f"{before.upper()} from {tag.name}")
    return tag


def merge(person: Person, tags: Sequence[Tag], into: Tag) -> int:
    """Make several words one: a select that has any of them has `into`, once. Returns how many selects had another.

    The merged words go on meaning `into`. What was merged, and on how many selects, is in the record of what happened.
    """
    production = into.production
    with _tidying(person, production):
        into = _fresh(into)
        merged = production.tags.filter(id__in=[tag.id for tag in tags]).exclude(id=into.id)
        clips = _lock_clips(merged)  # before the tags, as whoever marks does
        # Held until the end: a select that is being given one of them waits, and then finds what it became.
        gone = list(merged.select_for_update())
        if not gone:
            raise Refusal("Choose at least one other tag to merge.", "tags")
        has = Select.tags.through.objects
        selects = dict(has.filter(tag__in=gone).values_list("select_id", "select__clip"))
        if not clips.issuperset(selects.values()):
            raise Refusal("Somebody marked with one of these words in this very moment. Merge once more.", "tags")
        counts = dict(has.filter(tag__in=gone).order_by().values_list("tag").annotate(Count("id")))
        has.bulk_create(
            [Select.tags.through(select_id=each, tag_id=into.id) for each in selects],
            ignore_conflicts=True,
            batch_size=500,
        )
        for tag in gone:
            tag.former_words.update(tag=into)
            _remember(production, tag.name, into)
        if not into.key:
            into.key = next((tag.key for tag in gone if tag.key), "")
            into.save(update_fields=["key"])
        words = ", ".join(f"{tag.name} ({counts.get(tag.id, 0)})" for tag in gone)
        production.tags.filter(id__in=[tag.id for tag in gone]).delete()
        clip_tags.keep(clips)
        findables.keep(selects)
        _tell(person, into, "merged into the tag", f"{into.name}: {words}, on {len(selects)} selects")
    return len(selects)


def _lock_clips(tags: QuerySet[Tag]) -> set[int]:
    """Whose selects have any of these tags, deleted ones too; until the end, nobody else marks on them."""
    tagged = Select.tags.through.objects.filter(tag__in=tags).values("select__clip")
    locked = Clip.objects.filter(id__in=tagged).order_by("id").select_for_update(no_key=True)
    return set(locked.values_list("id", flat=True))


def remove(person: Person, tag: Tag) -> None:
    """Take away a word that no select has, deleted ones included."""
    with _tidying(person, tag.production):
        tag = _fresh(tag)
        if uses := tag.selects.count():
            raise Refusal(
                f"{uses} selects have the tag {tag.name} (or had it when they were deleted). Merge it into another "
                "word instead.",
                "tag",
            )
        _tell(person, tag, "removed the tag", tag.name)
        tag.delete()


@dataclass(frozen=True)
class Imported:
    added: int
    moved: int
    there: int  # in that group already


def import_set(person: Person, production: Production, text: str) -> Imported:
    """Lines of 'group: tag, tag'. New words are added; known ones move to the group they are written under."""
    wanted: dict[str, tuple[str, str]] = {}
    for number, line in enumerate(text[:200_000].splitlines(), start=1):
        if not line.strip():
            continue
        group, colon, names = line.partition(":")
        if not colon:
            raise Refusal(f"Line {number} has no colon. Write each line as: group: tag, tag, tag", "text")
        for name in filter(str.strip, re.split("[,;]", names)):
            name = _word(name)
            wanted[name.casefold()] = (name, _group(group))
    if not wanted:
        raise Refusal("Nothing to import. Write lines such as: place: harbour, slipway, net loft", "text")
    with _tidying(person, production):
        known = {tag.folded: tag for tag in production.tags.all()}
        new = {folded: pair for folded, pair in wanted.items() if folded not in known}
        _refuse_many(production, len(new))
        moved = [tag for folded, tag in known.items() if folded in wanted and wanted[folded][1] != tag.group]
        for tag in moved:
            tag.group = wanted[tag.folded][1]
        Tag.objects.bulk_update(moved, ["group"], batch_size=500)
        added = [_add(production, *pair) for pair in new.values()]
        told = Imported(len(added), len(moved), len(wanted) - len(added) - len(moved))
        if added or moved:
            subject = (added or moved)[0]
            _tell(
                person, subject, "imported a tag set", f"{told.added} tags added, {told.moved} moved to another group"
            )
    return told


@contextmanager
def _tidying(person: Person, production: Production) -> Iterator[None]:
    """A transaction in which nobody else tidies the same production's tags."""
    access.require(person, production, roles.TIDY_TAGS)
    with transaction.atomic():
        Production.objects.select_for_update(no_key=True).get(id=production.id)
        yield


def _fresh(tag: Tag) -> Tag:
    found = Tag.objects.select_related("production").filter(id=tag.id).first()
    if found is None:
        raise Refusal(f"The tag {tag.name} is gone: somebody merged or removed it. Load the page again.", "tag")
    return found


def _add(production: Production, name: str, group: str) -> Tag:
    production.former_words.filter(folded=name.casefold()).delete()
    return production.tags.create(name=name, folded=name.casefold(), group=group)


def _remember(production: Production, name: str, tag: Tag) -> None:
    FormerWord.objects.update_or_create(
        production=production, folded=name.casefold(), defaults={"name": name, "tag": tag}
    )


def _refuse_known(production: Production, name: str, but: Tag | None = None) -> None:
    known = production.tags.filter(folded=name.casefold()).first()
    if known and known != but:
        raise Refusal(f"There is a tag {known.name} already; to make two words one, merge them.", "name")


def _refuse_many(production: Production, more: int) -> None:
    if production.tags.count() + more > MOST_TAGS:
        raise Refusal(f"A production has at most {MOST_TAGS:,} tags; merge some first.", "name")


def _word(name: str) -> str:
    name = " ".join(_CONTROL.sub(" ", name).split())
    if not name or "," in name:
        raise Refusal("A tag is a word or a few, without a comma: commas stand between tags.", "name")
    if len(name) > LONGEST_WORD:
        raise Refusal(f"The tag '{name[:40]}…' has {len(name)} characters; {LONGEST_WORD} is the most.", "name")
    return name


def _group(group: str) -> str:
    group = " ".join(_CONTROL.sub(" ", group).split()).lower()
    if len(group) > LONGEST_GROUP:
        raise Refusal(f"The group '{group[:40]}' has {len(group)} characters; {LONGEST_GROUP} is the most.", "group")
    return group


def _tell(person: Person, tag: Tag, did: str, words: str) -> None:
    happened(tag.production, person, did, words, Activity.About.PRODUCTION, tag.id)
