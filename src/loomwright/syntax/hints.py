"""The nearest known word, for every message that can name one."""

from __future__ import annotations

from collections.abc import Iterable

LONGEST = 40


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that `word` was probably meant to be, or None. The same for every order of `known`."""
    if len(word) > LONGEST:
        return None
    import difflib  # slow to import, and a sound file needs none

    folded = word.casefold().replace("_", "-")
    names = sorted(set(known))
    for name in names:
        if name.casefold() == folded:
            return name
    found = difflib.get_close_matches(folded, names, n=1, cutoff=0.66 if len(word) > 3 else 0.6)
    return found[0] if found else None


def quoted(text: str) -> str:
    """A piece of the user's text as a message can hold it: short, on one line, nothing unprintable."""
    text = text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
    return "'" + "".join(character if character.isprintable() else "�" for character in text) + "'"


def listed(words: Iterable[str], last: str = "or") -> str:
    """`a, b or c`."""
    names = list(words)
    return f" {last} ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


def article(noun: str) -> str:
    """`a feed`, `an earth`."""
    return f"an {noun}" if noun[:1] in "aeiou" else f"a {noun}"
