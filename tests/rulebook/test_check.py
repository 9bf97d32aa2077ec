"""What a rule file gets wrong is said at its place, in words, all in one pass."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.rulebook.load import Rulebook

Book = Callable[..., Rulebook]

SOUND = """rule sound major "A title" {
    for f
    need f.area > 1 mm2
    say "s"
    why "w"
    do "d"
    source practice
}
"""


def with_lines(*lines: str) -> str:
    """A rule that is sound but for some lines; the first of them stands on line 2."""
    words = {line.split()[0] for line in lines}
    usual = {
        "for": "for feed f",
        "need": "need f.maker",
        "say": 'say "s"',
        "why": 'why "w"',
        "do": 'do "d"',
        "source": "source practice",
    }
    rest = [line for word, line in usual.items() if word not in words]
    return "\n".join(['rule test-rule major "A title" {', *lines, *rest, "}"])


SLIPS = {
    "need f.fuze - f.from > 1 m": "2:8 a feed has no fact 'fuze' | did you mean 'fuse'?",
    "need f.fuze exists": "2:8 a feed has no fact 'fuze' | did you mean 'fuse'?",
    "need f.hottest > 60 degC": "2:8 a feed has no fact 'hottest' | hottest is a fact of places",
    "need f.area": "2:6 `need` asks a yes or no, and this is an area | compare it with something",
    "need f.fuse": "2:6 `need` asks a yes or no, and this is a fuse | add `exists`",
    "need f.area > 3 A": "2:6 an area is compared with a current",
    "need f.area > 3 squid": "2:15 'squid' is no unit",
    "need f.area > 3 mms": "2:15 'mms' is no unit | did you mean 'ms'?",
    "need f.area + 3 A > 1 mm2": "2:6 a current can't be added to an area",
    "need f.area * f.area > 1 mm2": "2:6 an area times an area is nothing that rules know",
    "need f.area < limit.fuse-distanse": "2:21 there is no limit 'fuse-distanse' | did you mean 'fuse-distance'?",
    "need f.area < limit.fuse-distance": "2:6 an area is compared with a length",
    "need g.maker": "2:6 'g' is no name in this rule | one of f",
    "need f.twice > 1 m": "2:6 twice takes one argument, and none stand here | write: twice(length)",
    "need f.twice(2 A) > 1 m": "2:14 twice wants a length, and this is a current",
    "need f.fuse.kind is balde": "2:21 'balde' is never the value here | did you mean 'blade'?",
    "need f.area is blade": "2:6 `is` asks of a word, and this is an area",
    "need f.fuse.kind has blade": "2:6 `has` asks of some words, and this is a word | write: is WORD",
    "need f.fuse.kind < f.fuse.kind": "2:6 '<' compares quantities, and this is a word | compare it with = or !=",
    "need max of f.ends > 3 A": "2:6 `max of` wants several quantities, and this is several ends | name the fact that is meant: max of x.fuses.rating",
    "need count of f.area > 3": "2:6 `count of` goes over several, and this is an area",
    "need any f of f.ends: f.held is tight": "2:6 the name 'f' is taken | choose another",
    "need all e of f.ends: e.lug-stud": "2:23 `all` asks a yes or no, and this is a word | compare it with something",
    "need f.area >": "2:14 something is missing after '>' | write: need CONDITION",
    "need f.area > > 1 mm2": "2:15 '>' does not fit after '>' | write: need CONDITION",
    "need (f.area > 1 mm2": "2:21 something is missing after '1 mm2' | write: need CONDITION",
    "need f.maker if f.maker else 3 A": "2:6 one branch is a yes or no, the other a current",
    "need 3 * 3 A": "2:6 `need` asks a yes or no, and this is a current | compare it with something",
    "need f.area.size > 3 A": "2:6 an area has no facts: '.size' can't follow it",
    "need limit > 3": "2:6 `limit` alone is no value | write limit.NAME",
    "need f.maker == f.maker": "2:15 '=' does not fit after '=' | write: need CONDITION",
    "need F.maker": "2:6 'F.maker' has no meaning in a rule | names are written small: letters, digits, hyphens",
    "for fede f": "2:5 there is no kind of thing 'fede' | did you mean 'feed'?",
    "for feed f of battery g": "2:15 a feed is not part of a battery | feeds are of a circuit or a loom or a multicore",
    "for feed f in each day m": "2:20 'in each day' is not to be had | write: in each mode m",
    "for feed f in each mode m": "4:1 the sentence does not name the mode {m} | say in which mode it is so",
    "at 3 A": "2:4 `at` wants a thing or one of its values, and this is a current | for example: at f.fuse",
    'say "{f.fuze}"': "2:9 a feed has no fact 'fuze' | did you mean 'fuse'?",
    'say "{f.area"': "2:6 the brace is not closed | write {EXPRESSION}, or {{ for a brace",
    'say "{}"': "2:6 there is nothing between the braces | write {EXPRESSION}",
    'say ""': "2:5 `say` says nothing",
    'say "abc': '2:5 the text is not closed | end it with " on the same line',
    "source memory": '2:8 \'memory\' is no source | write: source "DOCUMENT AND CLAUSE", source "…" memory, or source practice',
    'source "x" practise': "2:12 'practise' can't follow a source | write: memory, where it was not read",
    'source "https://example.org/x"': "2:8 a source is a document and its clause, not an address",
    "wen f.maker": "2:1 'wen' is no clause of a rule | did you mean 'when'?",
    "fix set f.area to 3 A": "2:19 an area can't be set to a current",
    "fix put f.area to 3 mm2": "2:5 'put' is no way to mend a spec | fix set PLACE to VALUE, or fix add THING \"CLAUSE\"",
    "let f = 3 A": "2:5 the name 'f' is taken | choose another",
}


@pytest.mark.parametrize("line", SLIPS)
def test_each_slip_is_said_at_its_place(line: str, book: Book) -> None:
    problems = book(with_lines(line)).problems
    said = [
        f"{one.span.line}:{one.span.column} {one.message}" + (f" | {one.hint}" if one.hint else "")
        for one in problems
    ]
    assert said == [SLIPS[line]]


def test_a_file_with_many_slips_tells_them_all_in_order_of_place(book: Book) -> None:
    text = (
        SOUND.replace("for f\n", "for feed f\n")
        + """
rule Second major "x" { }
rule third grave "x" { for feed f }
rule fourth minor "x" {
    for feed f
    need f.arae > 1 mm2 and f.fuse.kind is blad
    say "{f.too} and {f.three}"
    why "w"; do "d"
    source practice
rule fifth minor "x" { for feed f; need f.maker; say "s"; why "w"; do "d"; source practice; say "t" }
stray words
rule sound minor "x" { for feed f; need f.maker; say "s"; why "w"; do "d"; source practice }
"""
    )
    read = book(text)
    assert [f"{one.span.line}:{one.span.column} {one.message}" for one in read.problems] == [
        "10:6 'Second' has no meaning in a rule",
        "11:12 'grave' is no severity",
        "12:1 the rule is not closed",
        "14:12 a feed has no fact 'arae'",
        "14:44 'blad' is never the value here",
        "15:13 a feed has no fact 'too'",
        "15:25 a feed has no fact 'three'",
        "18:93 `say` stands twice in the rule fifth",
        "19:1 'stray' stands outside every rule",
        "20:6 there is a rule sound already",
    ]
    assert [rule.name for rule in read] == ["sound"]


def test_what_is_missing_is_named(book: Book) -> None:
    said = [one.message for one in book('rule empty major "" { }').problems]
    assert said == [
        "the rule empty has no `for`, `need`, `say`, `why`, `do` or `source`",
        "the title is empty",
    ]


def test_lines_may_go_on_inside_brackets_after_operators_and_before_and(book: Book) -> None:
    text = SOUND.replace("for f\n", "for feed f\n").replace(
        "need f.area > 1 mm2",
        "need f.area >\n 1 mm2\n  and (f.area\n < 2 mm2)\n  or f.maker # why\n  and any e of f.ends:\n e.held is tight",
    )
    assert book(text).problems == ()


@pytest.mark.parametrize(
    "condition",
    [
        "f.area = 16 mm2 or f.area * 2 > 3 mm2 and not f.maker",
        "f.fuse.rating * 12 V < 3 W",
        "12 V / f.fuse.rating > 1 mohm and f.fuse.rating * 1 s < 3 Ah",
        "f.fuse.rating / f.carries <= 150 % and f.fuse.rating / f.carries < 1.5",
        "count of f.ends = 2 and max of f.fuses.rating < 100 A and sum of f.fuses.rating < 1 kA",
        "(count e of f.ends: e.held is loose) < 1",
        "(max s of f.stretches: s.place.hottest) < 90 degC",
        "f.from = f.to or f.from != f.to",
        "f.fuse.kind is one of blade, mini",
        "f.stretches.place.hazards has any of wheel, spray",
        "f.fuse.kind = f.fuse.kind",
        "f.twice(1 m) <= limit.support-interval if f.maker else limit.first-support",
        "f.carries < (3 A if f.maker else 4 A if f.fuse exists else 5 A)",
        "90 degC - 60 degC > 20 K and 60 degC + 20 K < 90 degC",
        "-3 A < f.carries",
    ],
)  # fmt: skip
def test_what_makes_sense_is_taken(condition: str, book: Book) -> None:
    assert [problem.message for problem in book(with_lines(f"need {condition}")).problems] == []


def test_a_choice_between_things_is_of_the_kind_that_both_are_of(book: Book) -> None:
    text = with_lines("let x = f.fuse if f.maker else f.from", "need x exists and x != f", "at x")
    assert book(text).problems == ()
    (problem,) = book(text.replace("x exists", "x.rating > 3 A")).problems
    assert (problem.message, problem.hint) == ("a thing has no fact 'rating'", "rating is a fact of fuses")
    assert book(text.replace("else f.from", "else f").replace("x exists", "x.area > 1 mm2")).problems
    assert (
        book(
            text.replace("f.fuse if f.maker else f.from", "f if f.maker else f").replace(
                "x exists", "x.carries > 1 A"
            )
        ).problems
        == ()
    )
