"""What a use case raises when it will not do what was asked. Pages, API and commands show the words."""


class Refusal(Exception):
    """Says what was refused, why, and what to do next. `field` names the input at fault, if one is."""

    def __init__(self, message: str, field: str = ""):
        super().__init__(message)
        self.message = message
        self.field = field


class NotAllowed(Refusal):
    """The person's roles in the production do not include this."""


class NotFound(Refusal):
    """There is no such thing, or not for this person: the two are never told apart."""


class Conflict(Refusal):
    """Somebody else changed it meanwhile; `current` is what it is now."""

    def __init__(self, message: str, current):
        super().__init__(message)
        self.current = current
