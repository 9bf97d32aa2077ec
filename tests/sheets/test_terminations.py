"""Single ends against the tables: what is stated, what follows from cable and stud, what must not be covered up."""

from __future__ import annotations

from tests.sheets.job import PLANNED, job_at, job_in, made, markdown_of

from loomwright.sheets.job import Job
from loomwright.sheets.making import MadeUp, all_made_up, odd_lugs

SPEC = """
fitout "Test" { stage planned; system 12 V }
place box { ambient 20 degC }
structure chassis { metal steel }
earthpoint stud on chassis in box { stud M8; surface bare; sealed }
battery house in box { chemistry agm; capacity 100 Ah; stud M8 }
load lamp in box { draws 5 A; stud M5 }
feed main from house.pos to lamp.pos {
    cable CABLE red 105 degC
    along box 2 m
    fuse FUSE at 0.1 m
    ends crimped sealed tight
    end house.pos lug LUG M8
    end lamp.pos lug LUG M5
}
earth back from lamp.neg to stud {
    cable 16 mm2 black/white
    along box 2 m
    ends crimped bare tight
    end stud lug 16 mm2 M8
}
"""


def ends(cable: str = "16 mm2", fuse: str = "strip 60 A", lug: str = "16 mm2") -> list[MadeUp]:
    text = SPEC.replace("CABLE", cable).replace("FUSE", fuse).replace("LUG", lug)
    job: Job = job_in(text)
    return list(all_made_up(job.ledger, job.installation.runs))


def test_a_stated_lug_has_the_die_barrel_tube_and_torque_of_the_tables() -> None:
    """DIN 46235: 16 mm² has die 8 and a barrel 20 mm deep; M8 on a battery 8 to 12 N m (common practice)."""
    end = ends()[0]
    assert (end.fitting, end.crimp, end.derived) == ("lug 16 mm² × M8", "hexagon, die 8", False)
    assert end.strip is not None
    assert end.strip.value == 21
    assert end.tube is not None
    assert end.tube.supplied_mm >= 1.1 * 8.5
    assert end.tube.shrunk_mm <= 0.8 * 8.3
    assert end.torque is not None
    assert (end.torque.low, end.torque.high) == (8, 12)


def test_the_sides_of_a_bolted_fuse_get_lugs_for_its_stud_and_its_torque() -> None:
    fuse_in, fuse_out = ends()[1:3]
    assert fuse_in.fitting == fuse_out.fitting == "lug 16 mm² × M5"
    assert fuse_in.derived
    assert fuse_in.torque is not None
    assert (fuse_in.torque.low, fuse_in.torque.high) == (3.5, 5.5)
    assert "side of house.pos" in fuse_in.at
    assert "side of lamp.pos" in fuse_out.at


def test_the_sides_of_a_blade_fuse_are_joined_to_the_tails_of_its_holder() -> None:
    fuse_in = ends("4 mm2", "blade 20 A", "4 mm2")[1]
    assert fuse_in.fitting == "butt splice to the holder's tail, yellow"
    assert fuse_in.torque is None


def test_a_lug_that_no_standard_makes_is_told() -> None:
    """DIN 46234 makes 35 mm² for M6 and up, and a strip fuse has M5 studs."""
    made_up = ends("35 mm2", "strip 100 A", "35 mm2")
    assert [each.standard for each in made_up[:4]] == [True, False, False, True]
    assert "lug 35 mm² × M5 (main)" in odd_lugs(made_up)
    assert odd_lugs(ends()) == ""


def test_a_bare_end_gets_no_tube_and_a_tracer_is_left_out_of_the_colour() -> None:
    start, end = ends()[4:]
    assert end.tube is None
    assert end.tube_colour == "black"
    assert start.fitting == "not known"


def test_an_earth_bolt_takes_the_torque_of_steel() -> None:
    end = ends()[-1]
    assert end.torque is not None
    assert "VDI 2230" in end.torque.source


def test_ends_in_one_barrel_are_one_lug() -> None:
    text = SPEC.replace("CABLE", "4 mm2").replace("FUSE", "blade 20 A").replace("LUG", "6 mm2")
    text += (
        "\nfeed second from house.pos to lamp.pos { cable 2.5 mm2 red; along box 2 m; ends crimped sealed tight;"
        " end house.pos lug 6 mm2 M8 with main; end lamp.pos lug 2.5 mm2 M5 }"
    )
    job = job_in(text)
    shared = [each for each in all_made_up(job.ledger, job.installation.runs) if each.at == "house.pos"]
    assert [each.first_in_barrel for each in shared] == [True, False]
    assert "in one barrel with main" in markdown_of(made("terminations", job))


def test_what_was_found_is_written_down_as_it_is() -> None:
    job = job_at(PLANNED.with_name("as-found.fitout"))
    text = markdown_of(made("terminations", job))
    assert "Torque" not in text
    assert "none, bare strands" in text
    assert "taped" in text
    assert "not known" in text
