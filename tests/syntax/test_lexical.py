"""What may stand in a text at all: letters, units, line ends, comments, and where they are."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.source import Source
from loomwright.syntax.parse import parse

from .saying import clause, head, read, said, sound, told


@pytest.mark.parametrize("written", ["16 mm2", "16mm2", "16 mm²", "16mm²", "0.16 cm2", "16.0 mm2"])
def test_an_area_is_the_same_however_it_is_written(written: str) -> None:
    assert said(clause("feed", f"cable {written}").parts) == "size=area 16"


@pytest.mark.parametrize("written", ["90 degC", "90 °C", "90°C", "90degC", "363.15 K", "194 degF"])
def test_a_temperature_is_the_same_however_it_is_written(written: str) -> None:
    assert said(clause("place", f"ambient {written}").parts) == "value=90 temperature"


@pytest.mark.parametrize(
    ("written", "size"),
    [
        ("16 mm2", "area 16"),
        ("8 B&S", "bs 8"),
        ("8B&S", "bs 8"),
        ("6 AWG", "awg 6"),
        ("2/0 AWG", "awg 2/0"),
        ("2/0AWG", "awg 2/0"),
        ("0 B&S", "bs 1/0"),
        ("0000 AWG", "awg 4/0"),
        ("6 mm auto", "auto 6"),
        ("6mm auto", "auto 6"),
        ("250 kcmil", "area 126.677"),
    ],
)
def test_a_conductor_is_sized_in_three_ways(written: str, size: str) -> None:
    found = clause("feed", f"cable {written} red").parts["size"]
    assert said(found) == size
    assert found.text == written == found.span.text  # type: ignore[union-attr]


def test_words_are_not_reserved() -> None:
    statements = sound(
        """
        feed charge from from.to to to.from { along in 1 m, at 2 m; loom max; note "x" }
        battery battery in in is is
        load fuse in place { draws 5 W }
        mode on { on on, fuse 5 A, none-at-all; open open, on; closed x }
        day day { on 3 h; charge 4 h; twin 1 h }
        """
    )
    assert [statement.name.text for statement in statements if statement.name] == [
        "charge",
        "battery",
        "fuse",
        "on",
        "day",
    ]
    assert said(statements[0].head) == "from=from.to, to=to.from"
    assert (
        said(statements[0].clauses[0].parts)
        == "stretches=[place=in, length=1 length; place=at, length=2 length]"
    )


@pytest.mark.parametrize("word", ["at", "in", "for", "from", "to", "max", "on", "by", "x"])
def test_small_words_are_never_units(word: str) -> None:
    assert told(read(f"{head('feed')} {{ along a 5 {word} }}")) == ["1:38: '5' has no unit"]


def test_lines_end_clauses_but_not_after_a_comma_or_before_a_brace() -> None:
    (feed,) = sound(
        """feed main from a.pos to b.pos

        # the brace may stand on a line of its own
        {
        along engine-bay 1 m,   # so far
              firewall,

              toolbox 2 m; maker ; ; label "x" }"""
    )
    assert [found.keyword.text for found in feed.clauses] == ["along", "maker", "label"]
    assert (
        said(feed.clauses[0].parts)
        == "stretches=[place=engine-bay, length=1 length; place=firewall; place=toolbox, length=2 length]"
    )


def test_statements_may_follow_on_one_line() -> None:
    statements = sound("place a { inside } place b { outside } ; place c; place d {}")
    assert [said(statement.name) for statement in statements] == ["a", "b", "c", "d"]
    assert [statement.span.text for statement in statements] == [
        "place a { inside }",
        "place b { outside }",
        "place c",
        "place d {}",
    ]


def test_texts_hold_what_can_be_printed() -> None:
    assert (
        said(clause("place", 'note "bees 🐝, 16\u00a0mm², „ü“ {x}; # y"').parts)
        == "value=bees 🐝, 16\u00a0mm², „ü“ {x}; # y"
    )
    assert said(clause("place", 'note ""').parts) == "value="


def test_comments_are_kept_with_their_places() -> None:
    parsed = read('# one\nplace a { # two\n    note "# none"#three\n}\n#')
    assert [comment.text for comment in parsed.document.comments] == ["# one", "# two", "#three", "#"]
    assert all(comment.span.text == comment.text for comment in parsed.document.comments)


TEXT = 'place a {\n\tambient 60 °C # warm\n    zzz\n    note "x"\n}\nplace b { hazards hea }\n'


@pytest.mark.parametrize("bom", ["", "\ufeff"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_places_are_right_with_a_byte_order_mark_and_with_crlf(bom: str, line_end: str) -> None:
    parsed = read(bom + TEXT.replace("\n", line_end))
    assert told(parsed) == [
        "3:5: 'zzz' is no clause of a place",
        "6:19: 'hea' is no hazard: did you mean 'heat'?",
    ]
    assert [problem.span.text for problem in parsed.problems] == ["zzz", "hea"]
    first = parsed.document.statements[0]
    assert [found.span.text for found in first.clauses] == ["ambient 60 °C", 'note "x"']
    assert first.clauses[0].parts["value"].span.text == "60 °C"  # type: ignore[union-attr]
    assert [comment.text for comment in parsed.document.comments] == ["# warm"]


def test_an_empty_text_says_nothing() -> None:
    for text in ("", "\ufeff", "\n", "  \t", "# only this", ";;\n;"):
        assert read(text).document.statements == ()
        assert read(text).problems == ()


def test_the_specs_of_the_project_are_sound(specs: Path) -> None:
    found = sorted(specs.rglob("*.fitout"))
    assert len(found) >= 2
    for path in found:
        parsed = parse(Source(path.name, path.read_text(encoding="utf-8")))
        assert told(parsed) == []


def test_every_value_of_a_spec_lies_at_its_place(specs: Path) -> None:
    """Words, texts and measures carry the very text that they were read from."""
    source = Source("planned", (specs / "orchard-bees" / "planned.fitout").read_text(encoding="utf-8"))
    statements = parse(source).document.statements
    assert len(statements) == 42
    assert sum(len(statement.clauses) for statement in statements) == 166
    for statement in statements:
        assert source.text[statement.span.start :].startswith(statement.kind.text)
        assert statement.span.text[-1] in "}" or not statement.clauses
        for found in statement.clauses:
            assert found.span.text.startswith(found.keyword.text)
            for part in found.parts.values():
                if hasattr(part, "span"):
                    assert part.span.text.strip('"') == getattr(part, "text", part.span.text)
                    assert found.span.start < part.span.start < part.span.end <= found.span.end
