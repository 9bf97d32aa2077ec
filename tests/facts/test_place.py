"""What a place does to what lies in it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger

SPEC = """
fitout "Places" {{ stage planned; system 12 V }}
place here {{ ambient 10 degC to 45 degC; {words} }}
"""

Make = Callable[[str], Ledger]


@pytest.mark.parametrize(
    ("words", "exposed", "rough", "enclosed", "shaken"),
    [
        ("inside", False, False, True, False),
        ("outside", True, True, False, False),
        ("hazards spray", True, True, False, False),
        ("inside; hazards wheel", True, True, False, False),
        ("hazards heat, vibration", False, True, False, True),
        ("habitable; hazards sun", False, False, False, False),
        ("hazards edge", False, True, False, False),
    ],
)
def test_hazards_and_side_say_how_hard_a_place_is(
    ledger_of: Make, words: str, exposed: bool, rough: bool, enclosed: bool, shaken: bool
) -> None:
    ledger = ledger_of(SPEC.format(words=words))
    place = ledger.installation.places[0]
    asked = {name: ledger.get(place, name) for name in ("exposed", "rough", "enclosed", "shaken")}
    assert asked == {"exposed": exposed, "rough": rough, "enclosed": enclosed, "shaken": shaken}


def test_ambient_is_kept_as_a_range(ledger_of: Make) -> None:
    ledger = ledger_of(SPEC.format(words="inside"))
    place = ledger.installation.places[0]
    assert (ledger.get(place, "coolest"), ledger.get(place, "hottest")) == (10.0, 45.0)
    assert ledger.get(place, "opening") is None
