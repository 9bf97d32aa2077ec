"""What is said about a head or clause that could not be read, in trade words; and the word that was probably meant.

The words come from the table of forms and from the closed lists of the grammar. Where the nearest word is near enough it takes
the place of the wrong one, so that the rest of the clause, and all that refers to it, is still read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from loomwright.source import Source, Span
from loomwright.syntax.forms import CLAUSES, RUNS, STATEMENTS, Form, block, form_of
from loomwright.syntax.hints import article, listed, nearest, quoted
from loomwright.syntax.lexer import (
    NAME,
    NEVER_NAMES,
    NUMBER,
    STRING,
    TERMINAL,
    UNPRINTABLE,
    WORD,
    Token,
    is_whole,
)
from loomwright.syntax.tables import END, Tables


class Slip(NamedTuple):
    """`instead` is the word to read in place of the wrong one; `place` the first and last token, when not the wrong one."""

    message: str
    hint: str = ""
    instead: str | None = None
    place: tuple[Token, Token] | None = None


CLASSES: Mapping[str, str] = {
    "{NAME}": "a name",
    "{TERMINAL}": "a terminal",
    "{THREAD}": "a thread such as M8",
    "{NUMBER}": "a number",
    "{STRING}": "a text in double quotes",
    "{DATE}": "a date such as 2026-11-18",
}
NOUNS: Mapping[str, str] = {
    "absent": "word for nothing there",
    "device": "kind of device",
    "opening": "kind of opening",
    "mount": "way to mount it",
    "surface": "kind of surface",
    "serves": "use of a battery",
    "regulation": "kind of regulation",
    "live": "time for it to be live",
    "taken_from": "circuit of the vehicle",
    "half": "half of a plug",
    "protection": "kind of fuse",
    "control": "way to control it",
    "hue": "colour",
    "sleeve": "kind of sleeve",
    "fitting": "fitting of an end",
    "made": "way to make an end",
    "cover": "cover of an end",
    "held": "word for how tight",
    "entry": "way in",
    "strands": "word for its strands",
    "conductor_metal": "metal of a conductor",
    "made_for": "kind of cable",
    "engine": "state of the engine",
    "sunlight": "word for the sun",
    "mains": "state of the mains",
}
"""What a word of a closed list is called, where it is not called like the list."""


class Mender:
    """For one head (`kind` "") or clause: tells its first slip, and mends it where a known word is near.

    `carried` is the index of the token that begins a clause of its own, when a comma at a line end carried it along.
    `opened` is the index of the token that begins a clause, when the brace before it was forgotten.
    `silent` spares the work of finding words for it.
    """

    def __init__(
        self,
        source: Source,
        tables: Tables,
        report: Callable[[Span, str, str], None],
        kind: str,
        splits: bool = True,
        silent: bool = False,
    ) -> None:
        self.source = source
        self.tables = tables
        self.report = report
        self.kind = kind
        self.rule = block(kind) if kind else "statement"
        self.splits = splits and bool(kind)
        self.silent = silent
        self.told = False
        self.carried = 0
        self.opened = 0

    def __call__(self, tokens: list[Token], index: int, row: Mapping[str, int]) -> bool:
        if self.told:
            return False
        self.told = True
        if self.silent:  # only counted
            self.report(self.source.span(tokens[0][2], tokens[0][2]), "", "")
            return False
        slip = (self._carry(tokens, index) if self.splits else None) or self._slip(tokens, index, row)
        first, last = slip.place or (tokens[index], tokens[index])
        self.report(self.source.span(first[2], last[2] + len(last[1])), slip.message, slip.hint)
        if slip.instead:
            tokens[index] = (WORD, slip.instead, tokens[index][2])
        return bool(slip.instead)

    def _carry(self, tokens: list[Token], index: int) -> Slip | None:
        """Whether a comma at the end of a line made two clauses one."""
        for at in range(min(index + 1, len(tokens) - 1), 1, -1):  # a clause stands before the comma
            comma, next_word = tokens[at - 1], tokens[at]
            if "\n" in self.source.text[comma[2] : next_word[2]]:
                if comma[1] != "," or next_word[1] not in CLAUSES[self.kind]:
                    return None
                self.carried = at
                keyword = quoted(tokens[0][1])
                return Slip(
                    f"this comma carries {keyword} on into the next line",
                    f"take the comma away, or go on with {keyword} after it",
                    place=(comma, comma),
                )
        return None

    def _slip(self, tokens: list[Token], index: int, row: Mapping[str, int]) -> Slip:
        if index == 0:
            return self._first_word(tokens[0])
        keyword = tokens[0][1]
        hint = self._reads(keyword)
        if index < len(tokens):
            kind, text, _ = tokens[index]
            if kind == STRING and not is_whole(text):
                return Slip(_broken_string(text), "a text stands between double quotes, on one line")
            if UNPRINTABLE.search(text):
                return Slip(f"{quoted(text)} holds a character that can't be printed", hint)
        if "{UNIT}" in row:
            return _no_unit(tokens, index, hint)
        if index == len(tokens):
            end = (0, "", tokens[-1][2] + len(tokens[-1][1]))
            return Slip(
                f"{quoted(keyword)} breaks off here{self._wanted(row, keyword)}", hint, place=(end, end)
            )
        if not self.kind and text in CLAUSES.get(keyword, ()) and (END in row or not row):
            self.opened = index
            return Slip(f"a '{{' is missing before {quoted(text)}", "clauses stand between { and }")
        if not row or set(row) == {END}:
            return Slip(f"{quoted(keyword)} ends before {quoted(text)}", hint)
        if kind == WORD:
            return self._word(text, row, keyword, hint)
        return Slip(f"{quoted(text)} can't stand here{self._wanted(row, keyword)}", hint)

    # ---- The word that a head or clause begins with

    def _first_word(self, token: Token) -> Slip:
        word = quoted(token[1])
        if token[0] != WORD or UNPRINTABLE.search(token[1]):
            what = f"a clause of {article(self.kind)}" if self.kind else "a statement"
            return Slip(f"{word} begins nothing: {what} begins with a word")
        if self.kind == "day":
            return Slip(f"{word} is no name of a mode", "a day reads: MODE TIME; for example: driving 3 h")
        owners = [kind for kind, clauses in CLAUSES.items() if token[1] in clauses]
        if not self.kind:
            near = None if owners else nearest(token[1], STATEMENTS)
            if owners:
                return Slip(
                    f"{word} is no statement", f"it is a clause and stands in the braces of {_owners(owners)}"
                )
            return Slip(f"{word} is no statement{_meant(near)}", "" if near else _CHOICES, near)
        if owners:
            return Slip(f"{word} belongs to {_owners(owners)}, not to {article(self.kind)}")
        near = nearest(token[1], CLAUSES[self.kind])
        if token[1] in STATEMENTS and not near:
            return Slip(f"{word} begins a statement and can't stand in {article(self.kind)}")
        choices = f"{article(self.kind)} takes: {', '.join(CLAUSES[self.kind])}"
        return Slip(
            f"{word} is no clause of {article(self.kind)}{_meant(near)}", "" if near else choices, near
        )

    # ---- What comes after it

    def _reads(self, keyword: str) -> str:
        head = form_of(self.kind, keyword) if self.kind else STATEMENTS.get(keyword)
        if isinstance(head, Form) and head.flag:
            return f"'{keyword}' stands alone"
        return f"'{keyword}' reads: {head.form}; for example: {head.example}" if head else ""

    def _keywords(self, row: Mapping[str, int], keyword: str) -> set[str]:
        """The words of this clause that can stand where the row is reached."""
        known = self.tables.words.get((self.rule, keyword if self.kind != "day" else ""), frozenset())
        return {name for name in row if name in known}

    def _word(self, word: str, row: Mapping[str, int], keyword: str, hint: str) -> Slip:
        """A word where another, or none, should be."""
        if "{THREAD}" in row and word[0] == "M":
            return Slip(f"{quoted(word)} is no thread", "a thread is an M and the millimetres across: M8")
        words = self._keywords(row, keyword)
        lists = {name: members for name, members in self.tables.lists.items() if words.issuperset(members)}
        if near := nearest(word, words):
            noun = next((name for name, members in lists.items() if near in members and len(members) > 1), "")
            if noun:
                return Slip(f"{quoted(word)} is no {NOUNS.get(noun, noun)}{_meant(near)}", "", near)
            return Slip(f"{quoted(word)} can't stand here{_meant(near)}", hint, near)
        if "{NAME}" in row:
            return _no_name(word, row, hint)
        for name, members in lists.items():
            if len(members) > 1 and words == set(members) and END not in row:
                return Slip(f"{quoted(word)} is no {NOUNS.get(name, name)}", f"one of: {', '.join(members)}")
        return Slip(f"{quoted(word)} can't stand here{self._wanted(row, keyword)}", hint)

    def _wanted(self, row: Mapping[str, int], keyword: str) -> str:
        """`: a number is wanted`, when it can be said in a few words."""
        words = self._keywords(row, keyword)
        wanted = [noun for name, noun in CLASSES.items() if name in row]
        if "{NUMBER}" in row and "{UNIT}" in self.tables.rows[row["{NUMBER}"]]:
            wanted[wanted.index("a number")] = "a number with its unit"
        for name, members in self.tables.lists.items():
            if len(members) > 1 and words.issuperset(members):
                wanted.append(f"a {NOUNS.get(name, name)}")
                words -= set(members)
        wanted += sorted(f"'{word}'" for word in words)
        return f": {listed(wanted)} is wanted" if 0 < len(wanted) <= 3 and END not in row else ""


_CHOICES = "statements begin with: " + ", ".join(STATEMENTS)


def _owners(kinds: list[str]) -> str:
    """`a battery and a mode`, with the runs taken together."""
    several = [
        "run" if kind == "feed" else kind for kind in kinds if kind not in (*RUNS[1:], "practice")
    ] or kinds
    several = several[:4] + ["others"] * (len(several) > 4)
    return listed([kind if kind == "others" else article(kind) for kind in several], "and")


def _meant(near: str | None) -> str:
    return f": did you mean '{near}'?" if near else ""


def _broken_string(text: str) -> str:
    if len(text) < 2 or not text.endswith('"'):
        return f"the text {quoted(text[1:].rstrip())} has no closing quote"
    return f"the text {quoted(text[1:-1])} holds a character that can't be printed"


def _no_unit(tokens: list[Token], index: int, hint: str) -> Slip:
    number = tokens[index - 1]
    follows = tokens[index : index + 2]
    if (
        len(follows) == 2
        and follows[0][1] == ","
        and follows[1][0] == NUMBER
        and follows[1][2] == follows[0][2] + 1
    ):
        whole, decimals = number[1], follows[1][1]
        message = (
            f"{quoted(f'{whole},{decimals}')} is no number: did you mean {quoted(f'{whole}.{decimals}')}?"
        )
        return Slip(message, "decimals stand after a point", place=(number, follows[1]))
    return Slip(f"{quoted(number[1])} has no unit", hint, place=(number, number))


def _no_name(word: str, row: Mapping[str, int], hint: str) -> Slip:
    if word in NEVER_NAMES:
        return Slip(f"{quoted(word)} can't be a name", hint)
    if TERMINAL.fullmatch(word):
        return Slip(f"{quoted(word)} is a terminal; the name of a thing is wanted here", hint)
    better = word.lower().replace("_", "-")
    terminal = "{TERMINAL}" in row and TERMINAL.fullmatch(better)
    instead = better if better != word and (terminal or NAME.fullmatch(better)) else None
    rule = "names are small letters, digits and hyphens, and begin with a letter"
    return Slip(f"{quoted(word)} is no name{_meant(instead)}", rule, instead)
