"""The site's own addresses, from its URL table, for tests that must not forget a new one."""

from tests.test_permissions import addresses


def page_addresses() -> list[str]:
    """Every address outside of the JSON surface, `*` for each number in it."""
    return [path for path in addresses() if not path.startswith("api/")]


def filled(path: str, numbers: dict) -> str:
    """An address with the id of something that is there. Raises KeyError for a kind that `numbers` has none of."""
    if "*" not in path:
        return f"/{path}"
    return f"/{path.replace('*', str(numbers[path.partition('/*')[0]]), 1).replace('*', '0')}"
