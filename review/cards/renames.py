"""Telling a file that has another name or place from one that is lost and one that is new: by its bytes."""

from collections.abc import Mapping


def renamed(lost: Mapping[str, Mapping[str, str]], strange: Mapping[str, Mapping[str, str]]) -> dict[str, str]:
    """{path of a strange file: the lost path whose bytes it holds}.

    `lost` gives the hashes, by algorithm, that files which are gone had; `strange` those of files that nobody knows.
    Bytes are the same if all hashes that both have agree, and there is one. Where several fit, one that kept its own
    name goes first; each is taken once.
    """
    holders: dict[tuple[str, str], list[str]] = {}
    for path in sorted(strange):
        for hashed in strange[path].items():
            holders.setdefault(hashed, []).append(path)
    found: dict[str, str] = {}
    for old in sorted(lost):
        fits = {
            path
            for hashed in lost[old].items()
            for path in holders.get(hashed, ())
            if path not in found
            and all(strange[path].get(name, digest) == digest for name, digest in lost[old].items())
        }
        if fits:
            name = old.rpartition("/")[2]
            found[min(fits, key=lambda path: (path.rpartition("/")[2] != name, path))] = old
    return found
