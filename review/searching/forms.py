"""The forms that an English word takes: who asks for `laughing` means `laughs` too.

Only the question is widened, so rows need no stems and other languages lose nothing. What a few endings cannot tell
(ran, running) stays apart. The rules of spelling are common knowledge, no source.
"""

_VOWELS = "aeiou"
_SHORTEST = 3  # letters that are left of a word without its ending


def forms(word: str) -> set[str]:
    """The word with its ending taken away and others put in its place; not the word itself. `word` is folded."""
    if not word.isalpha() or not word.isascii() or len(word) < _SHORTEST:
        return set()
    return {form for base in _bases(word) or {word} for form in _inflected(base)} - {word}


def _bases(word: str) -> set[str]:
    """What the word may be a form of; some of these are no words, which does no harm."""
    found = set()
    if word.endswith(("ies", "ied")):
        found.add(word[:-3] + "y")
    elif word.endswith("s") and not word.endswith(("ss", "us", "is")):
        found.add(word[:-1])
        if word.endswith(("ses", "xes", "zes", "ches", "shes")):
            found.add(word[:-2])
    for ending in ("ing", "ed"):
        if word.endswith(ending):
            stem = word[: -len(ending)]
            if any(letter in "aeiouy" for letter in stem):  # not of `sing`, `bed`
                found |= {stem, stem + "e"}
                if stem[-1:] == stem[-2:-1]:
                    found.add(stem[:-1])
    return {base for base in found if len(base) >= _SHORTEST}


def _inflected(base: str) -> set[str]:
    if base.endswith("e"):
        return {base, base + "s", base + "d", base[:-1] + "ing"}
    if base.endswith("y") and base[-2:-1] not in _VOWELS:
        return {base, base[:-1] + "ies", base[:-1] + "ied", base + "ing"}
    plural = base + ("es" if base.endswith(("s", "x", "z", "ch", "sh")) else "s")
    found = {base, plural, base + "ed", base + "ing"}
    if base[-1] not in _VOWELS + "wxy" and base[-2:-1] in _VOWELS and base[-3:-2] not in _VOWELS:
        found |= {base + base[-1] + "ed", base + base[-1] + "ing"}
    return found
