"""Who may do what in a production: the one table that pages, API and commands ask."""

MEDIA_MANAGER = "media manager"
LOGGER = "logger"
EDITOR = "editor"
PRODUCER = "producer"
OWNER = "owner"
ROLES = (MEDIA_MANAGER, LOGGER, EDITOR, PRODUCER, OWNER)

SEE = "see the production"
CHECK_CARDS = "check cards"
ACCEPT_CARDS = "accept a held card"
SEAL_CARDS = "seal cards"
SET_RULES = "set the production's rules"
TAKE_NOTES = "take field notes"
MARK = "mark selects"
WATCH = "have watching counted"
TAKE_STINTS = "take stints"
HAND_OUT = "hand out stints"
ASK_SECOND_LOOKS = "ask for second looks"
TIDY_TAGS = "tidy the tags"
MAKE_LISTS = "make lists"
EXPORT = "export lists"
TAKE_IN_CUTS = "take in a returned cut"
SEE_INSIDE = "see how the machines do"
MANAGE_PEOPLE = "manage people"

ABILITIES = {
    SEE: set(ROLES),
    CHECK_CARDS: {MEDIA_MANAGER, OWNER},
    ACCEPT_CARDS: {MEDIA_MANAGER, OWNER},
    SEAL_CARDS: {MEDIA_MANAGER, OWNER},
    SET_RULES: {MEDIA_MANAGER, PRODUCER, OWNER},
    TAKE_NOTES: {MEDIA_MANAGER, PRODUCER, OWNER},
    MARK: {LOGGER, EDITOR, PRODUCER, OWNER},
    WATCH: set(ROLES),
    TAKE_STINTS: {LOGGER, EDITOR, PRODUCER, OWNER},
    HAND_OUT: {PRODUCER, OWNER},
    ASK_SECOND_LOOKS: {EDITOR, PRODUCER, OWNER},
    TIDY_TAGS: {EDITOR, PRODUCER, OWNER},
    MAKE_LISTS: {LOGGER, EDITOR, PRODUCER, OWNER},
    EXPORT: set(ROLES),
    TAKE_IN_CUTS: {EDITOR, PRODUCER, OWNER},
    SEE_INSIDE: {MEDIA_MANAGER, OWNER},
    MANAGE_PEOPLE: {OWNER},
}


def may(roles: set[str], ability: str) -> bool:
    """Whether somebody who holds `roles` in a production may do `ability` there."""
    return bool(ABILITIES[ability] & roles)


def who_may(ability: str) -> str:
    """The roles that may, as words: 'an owner or a media manager'."""
    names = [f"{'an' if role[0] in 'eo' else 'a'} {role}" for role in ROLES if role in ABILITIES[ability]]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
