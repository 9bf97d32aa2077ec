"""Rules asked of an installation: what comes out as a finding, and what it says."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.rulebook.finding import Finding

Judged = Callable[..., list[Finding]]


def rule(*lines: str, name: str = "test-rule", severity: str = "major") -> str:
    words = {line.split()[0] for line in lines}
    usual = {
        "for": "for feed f",
        "say": 'say "{f}"',
        "why": 'why "w"',
        "do": 'do "d"',
        "source": "source practice",
    }
    rest = [line for word, line in usual.items() if word not in words]
    return "\n".join([f'rule {name} {severity} "A test" {{', *lines, *rest, "}\n"])


def brief(findings: list[Finding]) -> list[tuple[str, str]]:
    return [(one.message, one.severity) for one in findings]


def test_a_need_that_is_false_is_a_finding_with_all_that_a_reader_wants(judged: Judged) -> None:
    text = rule(
        "when f.fuse exists",
        "need f.fuse.rating <= 2 A * 3 + f.twice(1 m) / 1 m * 1 A",
        "at f.from",
        'say "{f} from {f.from}: {f.fuse.rating} on {f.area}, {limit.fuse-distance}, {{so}}"',
        'why "{f.fuse} is a {f.fuse.kind}, {f.maker}, {count of f.ends} ends: {f.ends}"',
        'source "33 CFR 183.455"',
        'source "ISO 8820-1" memory',
    )
    main, light = judged(text)[0], judged(text)[-1]
    assert (main.rule, main.severity, main.rule_severity) == ("test-rule", "major", "major")
    assert (main.span.line, main.span.column, main.span.text, main.at) == (10, 16, "crank.pos", "crank.pos")
    assert main.message == "main from crank.pos: 60 A on 16 mm², 178 mm, {so}"
    assert (
        main.why
        == "the fuse of main is a strip, no, 4 ends: crank.pos, the fuse of main, the fuse of main, house.pos"
    )
    assert main.sources == ("33 CFR 183.455", "ISO 8820-1 (from memory)")
    assert main.things == ("main",)
    assert [(one.name, one.value, one.unit, one.text) for one in main.facts] == [
        ("f.fuse.rating", 60.0, "A", "60 A"),
        ("f.twice(1 m)", 2.0, "m", "2 m"),
        ("f.fuse", "the fuse of main", "", "the fuse of main"),
    ]
    assert light.things == ("light",)


def test_a_when_that_is_false_asks_no_further_and_none_is_no_fuse(judged: Judged) -> None:
    assert brief(judged(rule("when not f.fuse exists", "need f.maker", "at f.fuse"))) == [
        ("bare", "major"),
        ("it can't be told yet of hidden: a test", "unproven"),
    ]
    bare = judged(rule("when not f.fuse exists", "need f.maker", "at f.fuse"))[0]
    assert bare.span.text.split() == ["fuse", "none"]


def test_what_is_unknown_is_unproven_and_says_what_to_look_at(judged: Judged) -> None:
    found = judged(rule("need f.area >= 6 mm2", 'say "{f}: {f.area}"'))
    assert brief(found) == [("it can't be told yet of hidden: a test", "unproven"), ("light: 2 mm²", "major")]
    (wanted,) = found[0].missing
    assert wanted.span.line == 23
    assert "hidden" in wanted.what
    assert found[0].facts[0].value is None


def test_an_unknown_when_does_not_matter_where_the_need_holds(judged: Judged) -> None:
    assert brief(judged(rule("when f.area > 1 mm2", "need not f.maker"))) == []
    assert ("it can't be told yet of hidden: a test", "unproven") in brief(
        judged(rule("when f.area > 1 mm2", "need f.maker"))
    )


def test_every_when_and_every_need_counts_and_the_first_need_missed_is_told(judged: Judged) -> None:
    text = rule(
        "when f.fuse exists",
        "when f.fuse.kind is strip",
        "need not f.maker",
        "need f.fuse.rating < 30 A",
        "need f.maker",
    )
    (found, *unproven) = judged(text)
    assert found.things == ("main",)
    assert found.facts[0].name == "f.fuse.rating"
    assert {one.severity for one in unproven} == {"unproven"}


def test_the_first_severity_whose_condition_holds_is_taken(judged: Judged) -> None:
    text = rule("need f.maker", "dangerous when f.area < 3 mm2", "minor when f.area > 10 mm2")
    assert {one.message: one.severity for one in judged(text)} == {
        "main": "minor",
        "bare": "major",
        "hidden": "major",
        "light": "dangerous",
    }


def test_parts_that_nobody_has_looked_for_are_unproven_once(judged: Judged) -> None:
    found = judged(rule("for fuse u of feed f", "need u.rating < 20 A", 'say "{u} of {f}: {u.rating}"'))
    assert brief(found) == [
        ("the fuse of main of main: 60 A", "major"),
        ("not known: the fuses of hidden", "unproven"),
    ]
    assert found[1].things == ("hidden",)
    assert found[1].missing


def test_an_end_is_named_with_its_run_and_marked_at_its_own_clause(judged: Judged) -> None:
    found = judged(
        rule(
            "for end e of feed f",
            "when e.held is loose",
            "need e.held is tight",
            "at e",
            'say "{e} of {f} is {e.held}"',
        )
    )
    loose = [one for one in found if one.severity == "major"]
    assert [(one.message, one.things, one.span.line) for one in loose] == [
        ("crank.pos of main is loose", ("main", "crank.pos"), 14)
    ]


def test_of_takes_only_children_of_that_kind_of_parent(judged: Judged) -> None:
    found = judged(rule("for stretch s of earth f", "need s.place.hottest < 20 degC", 'say "{s} of {f}"'))
    assert {one.things for one in found} == {("light", "tray")}


def test_of_several_modes_the_worst_is_told(judged: Judged) -> None:
    text = rule(
        "for load l in each mode m", "need l.current(m) < 4 A", 'say "{l} takes {l.current(m)} in {m}"'
    )
    assert brief(judged(text)) == [("lamp takes 8 A in night", "major"), ("pump takes 8 A in night", "major")]
    least = rule(
        "for load l in each mode m", "need l.current(m) > 10 A", 'say "{l} takes {l.current(m)} in {m}"'
    )
    assert brief(judged(least)) == [("lamp takes 5 A in day", "major"), ("pump takes 5 A in day", "major")]


def test_the_two_legs_of_a_circuit_are_one_finding(judged: Judged) -> None:
    found = [
        one for one in judged(rule("for run f", "need f.maker", "at f.from")) if one.things == ("light",)
    ]
    assert len(found) == 1
    assert found[0].at == "house.pos"


def test_a_let_is_worked_out_once_and_its_facts_are_told(judged: Judged) -> None:
    text = rule("let share = f.carries / 100 A", "need share > 50 % and share < 60 %", 'say "{f}: {share}"')
    found = judged(text)
    assert brief(found)[0] == ("main: 80 %", "major")
    assert [one.name for one in found[0].facts] == ["f.carries"]


def test_any_all_count_and_the_like_over_what_a_fact_gives(judged: Judged) -> None:
    condition = (
        "need (any s of f.stretches: s.place.hazards has wheel)"
        " and (count s of f.stretches: s.place.hazards has heat) = 1"
        " and sum of f.fuses.rating = 60 A and max of f.fuses.rating < 61 A"
        " and f.stretches.place.hazards has any of vibration, spray"
    )  # fmt: skip
    assert "main" not in [one.message for one in judged(rule(condition))]


def test_findings_come_in_the_order_of_the_text(judged: Judged) -> None:
    found = judged(
        rule("need f.maker") + rule("for battery f", "need f.capacity > 200 Ah", name="other-rule")
    )
    assert [one.span.order() for one in found] == sorted(one.span.order() for one in found)
    assert len({(one.rule, one.things) for one in found}) == len(found)


def test_a_joint_written_unknown_is_unproven_and_one_left_out_is_no_news(judged: Judged, spec: str) -> None:
    text = rule("for connection c", "need not c.made is twisted", 'say "{c} is twisted"')
    assert judged(text) == []
    written = judged(text, spec.replace("    clips  none\n", "    clips  none\n    joint  unknown\n"))
    assert brief(written) == [("not known: whether bare has joins in mid-run", "unproven")]
