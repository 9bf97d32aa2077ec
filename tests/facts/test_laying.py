"""How a cable is made and laid: its metal in every figure, its bends, its first clip, its way in."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loomwright.facts.registry import Ledger, Missing
from loomwright.model.things import End, Run

SPEC = """
fitout "Laid" {{ stage {stage}; system 12 V }}
place bay   {{ ambient 30 degC }}
place tray  {{ ambient 30 degC; outside }}
battery crank in bay {{ serves cranking; chemistry lead-acid; capacity 70 Ah; internal 7 mohm; stud M8 }}
load pump in tray {{ draws 5 A; stud M8 }}
feed main from crank.pos to pump.pos {{
    cable  {cable}
    along  bay 1 m, tray 2 m
    fuse   strip 40 A at 0.1 m
    {clauses}
}}
earth back from pump.neg to crank.neg {{ cable 16 mm2 105 degC; along tray 2 m, bay 1 m; conductor copper }}
mode on {{ on pump }}
"""

Make = Callable[[str], Ledger]


def spec(clauses: str = "", stage: str = "planned", cable: str = "16 mm2 105 degC") -> str:
    return SPEC.format(clauses=clauses, stage=stage, cable=cable)


def main_of(ledger: Ledger) -> Run:
    found = ledger.installation.named["main"]
    assert isinstance(found, Run)
    return found


def end_of(ledger: Ledger, side: str = "end") -> End:
    return next(end for end in ledger.installation.ends_of[main_of(ledger)] if end.side == side)


# ---------------------------------------------------------------- metal


@pytest.mark.parametrize("metal", ["aluminium", "copper-clad"])
def test_aluminium_carries_the_share_of_copper_that_the_tables_give(ledger_of: Make, metal: str) -> None:
    """NEC Table 310.16, 75 °C, one column for aluminium and copper-clad aluminium, from memory: 40 against 50 A for 8 AWG, 65
    against 85 A for 4 AWG, 180 against 230 A for 4/0.
    """
    ledgers = [ledger_of(spec(f"conductor {each}")) for each in (metal, "copper")]
    clad, copper = (ledger.get(main_of(ledger), "carries") for ledger in ledgers)
    assert 65 / 85 - 0.01 <= clad / copper <= 40 / 50


@pytest.mark.parametrize(("metal", "ratio"), [("aluminium", 1.64), ("copper-clad", 1.59)])
def test_another_metal_loses_more_volts_by_its_resistivity(ledger_of: Make, metal: str, ratio: float) -> None:
    """4 AWG of copper: 0.2485 ohm per 1000 ft at 20 °C, NBS Handbook 100. 100 % against 61 % IACS (IEC 60889) and 62.9 % (ASTM B566
    class 10A, from memory). 5 A over 3 m, a little more for warmth and the lay of the strands.
    """
    ledgers = [ledger_of(spec(f"conductor {each}", cable="4 AWG 105 degC")) for each in (metal, "copper")]
    clad, copper = (ledger.get(main_of(ledger), "drop", ledger.installation.modes[0]) for ledger in ledgers)
    cold = (ratio - 1) * 0.2485 / 304.8 * 3 * 5
    assert cold <= clad - copper <= cold * 1.08


def test_aluminium_bears_a_fault_for_a_shorter_time(ledger_of: Make) -> None:
    """IEC 60364-4-43 table 43A: k is 76 for aluminium where it is 115 for copper in PVC."""
    ledgers = [
        ledger_of(spec(f"conductor {each}", cable="16 mm2 75 degC")) for each in ("aluminium", "copper")
    ]
    aluminium, copper = (ledger.get(main_of(ledger), "withstands", 5000.0) for ledger in ledgers)
    assert aluminium / copper == pytest.approx((76 / 115) ** 2, rel=0.02)


def test_metal_that_nobody_has_looked_at_is_reckoned_as_copper_and_unknown_as_nothing(
    ledger_of: Make,
) -> None:
    left_out, written = (ledger_of(spec(clause, "as-found")) for clause in ("", "conductor unknown"))
    assert left_out.get(main_of(left_out), "metal-factor") == 1.0
    with pytest.raises(Missing, match="what the cable of main is made of"):
        written.get(main_of(written), "carries")


# ---------------------------------------------------------------- bends


@pytest.mark.parametrize(
    ("cable", "clauses", "millimetres"),
    [
        ("16 mm2", "", 83),  # 8.3 mm over its insulation, ISO 6722-1 thick wall, from memory
        ("6 mm auto", "", 60),  # named by its diameter
        ("twin 4 mm2", "", 60),  # flat: 4.4 mm and the sheath of 0.8 mm on both sides
        ("16 mm2", "diameter 12 mm", 120),
    ],
)
def test_a_bend_is_at_least_ten_diameters(
    ledger_of: Make, cable: str, clauses: str, millimetres: float
) -> None:
    """AC 43.13-1B 11-96, from memory."""
    ledger = ledger_of(spec(clauses, cable=cable))
    assert ledger.get(main_of(ledger), "least-bend") == pytest.approx(millimetres / 1000)


def test_a_bend_that_is_not_written_is_the_fitter_s_in_a_plan_and_unknown_as_found(ledger_of: Make) -> None:
    planned, found, straight = (
        ledger_of(spec(clauses, stage))
        for clauses, stage in (("", "planned"), ("", "as-found"), ("bend none", "as-found"))
    )
    assert planned.get(main_of(planned), "bend") is None
    assert straight.get(main_of(straight), "bend") is None
    with pytest.raises(Missing, match="how tightly the cables are bent"):
        found.get(main_of(found), "bend")


# ---------------------------------------------------------------- the first clip


@pytest.mark.parametrize(
    ("clauses", "stage", "metres"),
    [
        ("clips 0.3 m; end pump.pos ferrule clip 0.2 m", "planned", 0.2),
        ("clips 0.3 m; end pump.pos ferrule", "planned", None),
        ("clips 0.1 m; end pump.pos ferrule", "as-found", 0.1),  # the first is no further than the next
        ("clips none; end pump.pos ferrule", "as-found", None),  # another rule's
        ("clips 0.1 m; clips unknown in tray; end pump.pos ferrule", "as-found", None),
        ("clips 0.1 m in tray; clips 0.3 m; end pump.pos ferrule", "as-found", 0.1),
    ],
)
def test_the_first_clip_is_where_it_is_written_or_no_further_than_the_spacing(
    ledger_of: Make, clauses: str, stage: str, metres: float | None
) -> None:
    ledger = ledger_of(spec(clauses, stage))
    assert ledger.get(end_of(ledger), "first-clip") == metres


@pytest.mark.parametrize(
    ("clauses", "wanted"),
    [
        ("clips 0.3 m; end pump.pos ferrule", "where the spec does not say"),
        ("clips 0.3 m; ends unknown", "the ends of main"),
        ("clips 0.1 m; ends unknown; end pump.pos tight", "its first clip"),
    ],
)
def test_a_first_clip_that_nobody_has_seen_is_not_known(ledger_of: Make, clauses: str, wanted: str) -> None:
    ledger = ledger_of(spec(clauses, "as-found"))
    with pytest.raises(Missing, match=wanted):
        ledger.get(end_of(ledger), "first-clip")


# ---------------------------------------------------------------- the way in


def test_only_what_has_an_inside_is_entered(ledger_of: Make) -> None:
    ledger = ledger_of(spec("ends crimped from-above"))
    assert ledger.get(end_of(ledger), "entry") == "from-above"
    assert ledger.get(end_of(ledger, "start"), "entry") is None  # the post of a battery
    assert ledger.get(end_of(ledger, "fuse-in"), "entry") is None
