"""Two sources feed one fault through two fuses: each fuse is judged by what it sees, first with the other and then alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.rulebook.finding import Finding

Find = Callable[..., list[Finding]]

NAMES = ("fuse-never-blows", "fuse-slower-than-cable")

HEAD = """
fitout "Two batteries" { stage planned; system 12 V }
practice { sleeve split-tube; clips 0.25 m; ends crimped sealed tight }
place fore { ambient 30 degC; inside }
place aft { ambient 30 degC; inside }
battery one in fore { chemistry agm; capacity 100 Ah; internal 8 mohm; serves cranking; stud M8 }
battery two in aft { chemistry agm; capacity 100 Ah; internal 16 mohm; serves house; stud M8 }
"""
LINK = """
feed link from one.pos to two.pos {{
    cable {size} red 105 degC
    along fore {metres} m, aft {metres} m
    fuse  strip 80 A at 0.1 m
    fuse  strip 60 A at 0.1 m from two.pos
}}
earth back from two.neg to one.neg {{ cable {size} black 105 degC; along aft {metres} m, fore {metres} m }}
"""


def link(size: str, metres: float) -> str:
    return HEAD + LINK.format(size=size, metres=metres)


def told(findings: list[Finding]) -> list[tuple[str, str]]:
    return [(each.rule, each.message.split(" through ")[0].rsplit(" only ", 1)[-1]) for each in findings]


def test_a_long_link_whose_whole_fault_would_open_either_fuse_is_told_of_both(find: Find) -> None:
    """The whole fault at the far end is 497 A, of which the fuse of 80 A sees 105 A at first and 123 A in the end."""
    findings = find(link("16 mm2", 12), *NAMES)
    assert [each.severity for each in findings] == ["major", "major"]
    assert told(findings) == [("fuse-never-blows", "123 A"), ("fuse-never-blows", "109 A")]


def test_where_the_cable_is_thin_as_well_it_burns_before_either_opens(find: Find) -> None:
    findings = find(link("10 mm2", 12), "fuse-slower-than-cable")
    assert [each.severity for each in findings] == ["dangerous", "dangerous"]
    assert "The insulation bears 128 A for 66" in findings[0].why


def test_a_short_link_with_the_same_fuses_is_quiet(find: Find) -> None:
    assert find(link("16 mm2", 2), *NAMES) == []


BANK = (
    HEAD
    + """
busbar plus in aft {{ studs 6 x M8; rated 250 A }}
busbar minus in aft {{ studs 6 x M8; rated 250 A }}
feed from-one from one.pos to plus {{ cable 16 mm2 105 degC; along aft 1 m; fuse strip 100 A at 0.1 m }}
feed from-two from two.pos to plus {{ cable 16 mm2 105 degC; along aft 1 m; fuse strip {second} A at 0.1 m }}
earth one-back from minus to one.neg {{ cable 16 mm2 105 degC; along aft 1 m }}
earth two-back from minus to two.neg {{ cable 16 mm2 105 degC; along aft 1 m }}
load fan in aft {{ draws 5 A; stud M8 }}
feed on from plus to fan.pos {{ cable {size} 105 degC; along aft {metres} m }}
earth home from fan.neg to minus {{ cable {size} 105 degC; along aft {metres} m }}
""".replace("{{", "{").replace("}}", "}")
)


def bank(size: str, metres: float, second: int) -> str:
    found = BANK
    for name, value in (("size", size), ("metres", metres), ("second", second)):
        found = found.replace(f"{{{name}}}", str(value))
    return found


def test_behind_a_bar_that_two_batteries_feed_both_fuses_must_open(find: Find) -> None:
    """Neither fuse sees more than its battery's part; the cable sees both parts."""
    findings = find(bank("16 mm2", 12, 100), *NAMES)
    assert {each.at for each in findings} == {"the fuse of from-one", "the fuse of from-two"}
    assert all("cable of on" in each.message or "end of on" in each.message for each in findings)
    assert {each.message.split("only ")[1][:6] for each in findings if "only" in each.message} == {
        "134 A ",
        "79.7 A",
    }


def test_a_fuse_that_opens_first_leaves_the_whole_fault_to_the_other(find: Find) -> None:
    """The part of one battery opens its 100 A in 8 s; the 30 A of the other opens at once, and alone it sends more: 4 s."""
    assert find(bank("25 mm2", 3, 30), "fuse-never-blows") == []
    assert len(find(bank("25 mm2", 3, 60), "fuse-never-blows")) == 2


WAYS = """
busbar plus in aft { studs 6 x M8; rated 250 A }
load fan in aft { draws 5 A; stud M8 }
feed short from one.pos to plus { cable 16 mm2 105 degC; along fore 0.5 m; fuse strip 80 A at 0.1 m }
feed long from one.pos to plus { cable 6 mm2 105 degC; along fore 8 m; fuse strip 60 A at 0.1 m }
feed on from plus to fan.pos { cable 25 mm2 105 degC; along aft 3 m }
earth home from fan.neg to one.neg { cable 25 mm2 105 degC; along aft 3 m }
"""


def test_a_second_way_round_a_fuse_is_followed_when_the_first_has_opened(find: Find) -> None:
    """The short way opens in two seconds; the long one goes on with what its thin cable lets through, too little for its fuse."""
    found = {each.at: each.message for each in find(HEAD + WAYS, "fuse-never-blows")}
    assert "the far end of on may send only 193 A" in found["the fuse of long"]
    assert (
        "the far end of long may send only 216 A" in found["the fuse of short"]
    )  # backwards through the long way


@pytest.mark.parametrize("metres", [2, 12])
def test_it_does_not_matter_which_way_the_link_is_written(find: Find, metres: float) -> None:
    text = link("16 mm2", metres)
    turned = text.replace("from one.pos to two.pos", "from two.pos to one.pos").replace(
        "fuse  strip 80 A at 0.1 m\n", "fuse  strip 80 A at 0.1 m from one.pos\n"
    )
    turned = turned.replace(
        f"along fore {metres} m, aft {metres} m", f"along aft {metres} m, fore {metres} m"
    )
    assert turned != text
    assert sorted(told(find(turned, *NAMES))) == sorted(told(find(text, *NAMES)))
