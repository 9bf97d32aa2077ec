"""What is said about a head or clause that could not be read, in trade words; and the word that was probably meant.

The words come from the table of forms and from the closed lists of the grammar. Where the nearest word is near enough it takes the
place of the wrong one, so that the rest of the clause, and all that refers to it, is still read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from loomwright.source import Source, Span
from loomwright.syntax.forms import CLAUSES, STATEMENTS, block, form_of
from loomwright.syntax.hints import article, listed, nearest, quoted
from loomwright.syntax.lexer import NAME, NEVER_NAMES, NUMBER, STRING, UNPRINTABLE, WORD, Token, is_whole
from loomwright.syntax.tables import END, Tables

Slip = tuple[Token, Token, str, str, str]
"""First and last token of the place, message, hint, and the word to put there instead (or nothing)."""

CLASSES: Mapping[str, str] = {
    "{NAME}": "a name",
    "{TERMINAL}": "a terminal",
    "{THREAD}": "a thread such as M8",
    "{NUMBER}": "a number",
    "{STRING}": "a text in double quotes",
    "{DATE}": "a date such as 2026-11-18",
}
NOUNS: Mapping[str, str] = {
    "device": "kind of device",
    "opening": "kind of opening",
    "mount": "way to mount it",
    "surface": "kind of surface",
    "serves": "use of a battery",
    "regulation": "kind of regulation",
    "live": "time for it to be live",
    "half": "half of a plug",
    "protection": "kind of fuse",
    "control": "way to control it",
    "hue": "colour",
    "sleeve": "kind of sleeve",
    "fitting": "fitting of an end",
    "made": "way to make an end",
    "cover": "cover of an end",
    "held": "word for how tight",
    "engine": "state of the engine",
    "sunlight": "word for the sun",
    "mains": "state of the mains",
}
"""What a word of a closed list is called, where it is not called like the list."""


class Mender:
    """For one head (`kind` "") or clause: tells its first slip, and mends it where a known word is near.

    `carried` is the index of the token that begins a clause of its own, when a comma at a line end carried it along.
    """

    def __init__(
        self,
        source: Source,
        tables: Tables,
        report: Callable[[Span, str, str], None],
        kind: str,
        splits: bool = True,
    ) -> None:
        self.source = source
        self.tables = tables
        self.report = report
        self.kind = kind
        self.rule = block(kind) if kind else "statement"
        self.splits = splits and bool(kind)
        self.told = False
        self.carried = 0

    def __call__(self, tokens: list[Token], index: int, row: Mapping[str, int]) -> bool:
        if self.told:
            return False
        self.told = True
        if self.splits and self._find_carried(tokens, index):
            comma = tokens[self.carried - 1]
            hint = f"take the comma away, or go on with {quoted(tokens[0][1])} after it"
            self._tell(comma, comma, f"this comma carries {quoted(tokens[0][1])} on into the next line", hint)
            return False
        first, last, message, hint, instead = self._slip(tokens, index, row)
        self._tell(first, last, message, hint)
        if instead:
            tokens[index] = (WORD, instead, tokens[index][2])
        return bool(instead)

    def _tell(self, first: Token, last: Token, message: str, hint: str) -> None:
        self.report(self.source.span(first[2], last[2] + len(last[1])), message, hint)

    def _find_carried(self, tokens: list[Token], index: int) -> bool:
        clauses = CLAUSES[self.kind]
        for at in range(min(index, len(tokens) - 1), 0, -1):
            between = self.source.text[tokens[at - 1][2] : tokens[at][2]]
            if "\n" in between:
                self.carried = at if tokens[at - 1][1] == "," and tokens[at][1] in clauses else 0
                return bool(self.carried)
        return False

    def _slip(self, tokens: list[Token], index: int, row: Mapping[str, int]) -> Slip:
        if index == 0:
            return self._first_word(tokens[0])
        keyword = tokens[0][1]
        hint = self._reads(keyword)
        if index == len(tokens):
            end = (0, "", tokens[-1][2] + len(tokens[-1][1]))
            if "{UNIT}" in row:
                return self._no_unit(tokens, index, hint)
            return end, end, f"{quoted(keyword)} breaks off here{self._wanted(row, keyword)}", hint, ""
        token = tokens[index]
        if token[0] == STRING and not is_whole(token[1]):
            return (
                token,
                token,
                _broken_string(token[1]),
                "a text stands between double quotes, on one line",
                "",
            )
        if UNPRINTABLE.search(token[1]):
            return token, token, f"{quoted(token[1])} holds a character that can't be printed", hint, ""
        if "{UNIT}" in row:
            return self._no_unit(tokens, index, hint)
        if token[0] == WORD:
            return self._word(token, row, keyword, hint)
        return token, token, f"{quoted(token[1])} can't stand here{self._wanted(row, keyword)}", hint, ""

    def _first_word(self, token: Token) -> Slip:
        word = token[1]
        if token[0] != WORD or UNPRINTABLE.search(word):
            what = f"a clause of {article(self.kind)}" if self.kind else "a statement"
            return (
                token,
                token,
                f"{quoted(word)} begins nothing: {what} begins with a word",
                self._choices(),
                "",
            )
        if not self.kind:
            owners = [kind for kind, clauses in CLAUSES.items() if word in clauses]
            near = nearest(word, STATEMENTS)
            if near is None and owners:
                where = (
                    "the braces of a run"
                    if "feed" in owners
                    else f"the braces of {listed(map(article, owners[:4]))}"
                )
                return (
                    token,
                    token,
                    f"{quoted(word)} is no statement",
                    f"it is a clause and stands in {where}",
                    "",
                )
            return (
                token,
                token,
                f"{quoted(word)} is no statement{_meant(near)}",
                "" if near else self._choices(),
                near or "",
            )
        if self.kind == "day":
            return (
                token,
                token,
                f"{quoted(word)} is no name of a mode",
                "a day reads: MODE TIME, for example: driving 3 h",
                "",
            )
        owners = [kind for kind, clauses in CLAUSES.items() if word in clauses]
        if owners:
            kinds = [kind for kind in owners if kind not in ("earth", "circuit", "signal", "practice")]
            kinds = kinds or owners
            several = listed(kinds[:4], "and") if len(kinds) <= 4 else ", ".join(kinds[:4]) + " and others"
            return (
                token,
                token,
                f"{quoted(word)} belongs to {several}, not to {article(self.kind)}",
                self._choices(),
                "",
            )
        near = nearest(word, CLAUSES[self.kind])
        if near is None and word in STATEMENTS:
            return (
                token,
                token,
                f"{quoted(word)} begins a statement and can't stand in {article(self.kind)}",
                "",
                "",
            )
        message = f"{quoted(word)} is no clause of {article(self.kind)}{_meant(near)}"
        return token, token, message, "" if near else self._choices(), near or ""

    def _choices(self) -> str:
        if not self.kind:
            return "statements begin with: " + ", ".join(STATEMENTS)
        return f"{article(self.kind)} takes: " + ", ".join(CLAUSES[self.kind])

    def _reads(self, keyword: str) -> str:
        head = STATEMENTS.get(keyword) if not self.kind else form_of(self.kind, keyword)
        return f"'{keyword}' reads: {head.form}; for example: {head.example}" if head else ""

    def _no_unit(self, tokens: list[Token], index: int, hint: str) -> Slip:
        number = tokens[index - 1]
        follows = tokens[index : index + 2]
        if (
            len(follows) == 2
            and follows[0][1] == ","
            and follows[1][0] == NUMBER
            and follows[1][2] == follows[0][2] + 1
        ):
            message = (
                f"'{number[1]},{follows[1][1]}' is no number: did you mean '{number[1]}.{follows[1][1]}'?"
            )
            return number, follows[1], message, "decimals stand after a point", ""
        return number, number, f"{quoted(number[1])} has no unit", hint, ""

    def _word(self, token: Token, row: Mapping[str, int], keyword: str, hint: str) -> Slip:
        """A word where another, or none, should be."""
        word = token[1]
        known = self.tables.words.get((self.rule, keyword), frozenset())
        words = {name for name in row if name in known}
        near = nearest(word, words)
        lists = [
            name for name, members in self.tables.lists.items() if all(member in words for member in members)
        ]
        if near:
            noun = next(
                (
                    NOUNS.get(name, name)
                    for name in lists
                    if near in self.tables.lists[name] and len(self.tables.lists[name]) > 1
                ),
                "",
            )
            message = (
                f"{quoted(word)} is no {noun}{_meant(near)}"
                if noun
                else f"{quoted(word)} can't stand here{_meant(near)}"
            )
            return token, token, message, "" if noun else hint, near
        if "{NAME}" in row:
            return self._name(token, row, hint)
        if len(lists) == 1 and words == set(self.tables.lists[lists[0]]) and END not in row:
            return (
                token,
                token,
                f"{quoted(word)} is no {NOUNS.get(lists[0], lists[0])}",
                f"one of: {', '.join(self.tables.lists[lists[0]])}",
                "",
            )
        if END in row and not words and not any(name in row for name in CLASSES):
            return token, token, f"{quoted(keyword)} ends before {quoted(word)}", hint, ""
        return token, token, f"{quoted(word)} can't stand here{self._wanted(row, keyword)}", hint, ""

    def _name(self, token: Token, row: Mapping[str, int], hint: str) -> Slip:
        word = token[1]
        if word in NEVER_NAMES:
            return token, token, f"{quoted(word)} can't be a name", hint, ""
        if "." in word and "{TERMINAL}" not in row:
            return (
                token,
                token,
                f"{quoted(word)} is no name of a thing, but of a terminal"
                if NAME.match(word)
                else f"{quoted(word)} is no name",
                hint,
                "",
            )
        better = word.lower().replace("_", "-")
        meant = f": did you mean '{better}'?" if better != word and NAME.fullmatch(better) else ""
        rule = "names are small letters, digits and hyphens, and begin with a letter"
        return token, token, f"{quoted(word)} is no name{meant}", rule, better if meant else ""

    def _wanted(self, row: Mapping[str, int], keyword: str) -> str:
        """`: a number is wanted`, when it can be said in a few words."""
        known = self.tables.words.get((self.rule, keyword), frozenset())
        words = {name for name in row if name in known}
        wanted = [noun for name, noun in CLASSES.items() if name in row]
        for name, members in self.tables.lists.items():
            if len(members) > 1 and words and words.issuperset(members):
                wanted.append("a " + NOUNS.get(name, name))
                words -= set(members)
        wanted += sorted(f"'{word}'" for word in words)
        wanted += ["','"] if "," in row and not wanted else []
        return f": {listed(wanted)} is wanted" if 0 < len(wanted) <= 3 and END not in row else ""


def _meant(near: str | None) -> str:
    return f": did you mean '{near}'?" if near else ""


def _broken_string(text: str) -> str:
    if len(text) < 2 or not text.endswith('"'):
        return f"the text {quoted(text)} has no closing quote"
    return f"the text {quoted(text)} holds a character that can't be printed"
