"""A comparison as it is read: the foreman's list, the merge request, the page, the JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from html.parser import HTMLParser
from math import inf
from pathlib import Path

import pytest

from loomwright.report.check import Wishes
from loomwright.review.compare import Comparison, compare
from loomwright.review.forms import told
from loomwright.review.measures import copper_of, cords_of, has_moved
from loomwright.review.sides import Side, side
from loomwright.review.text import escaped

Van = Callable[..., Side]


@pytest.fixture(scope="module")
def orchard(checkout: Path) -> tuple[Side, Side]:
    folder = checkout / "specs" / "orchard-bees"
    return side(str(folder / "as-found.fitout"), Wishes()), side(str(folder / "planned.fitout"), Wishes())


def section(text: str, title: str) -> list[str]:
    """The lines of one section of a text, from its title on."""
    found = re.search(rf"^{re.escape(title)} \(\d+\)\n((?: .*\n)*)", text, re.MULTILINE)
    assert found, f"no section {title} in\n{text}"
    return found[1].splitlines()


def test_from_as_found_to_planned_it_reads_like_a_foremans_list(orchard: tuple[Side, Side]) -> None:
    text = told(*orchard)
    assert section(text, "Take out") == [
        "    hub box: 30 A, in toolbox",
        "    earth point lid: M6 on toolbox-skin in toolbox",
        "    feed box-feed: 4 mm auto red, house.pos to box.in, toolbox 0.9 m",
        "    earth box-return: 4 mm auto black, box.neg to house.neg, toolbox 0.9 m",
    ]
    assert "    charger dcdc: 45 A, 30 A, in toolbox" in section(text, "Fit")
    replace = section(text, "Replace")
    assert "        chemistry     agm → lifepo4" in replace
    assert "        fuse             none → strip 60 A at 150 mm in engine-bay" in replace
    assert "        opening  bare → grommet" in section(text, "Alter")
    gone = section(text, "Findings gone")
    assert any(
        line.startswith("    dangerous: unfused-feed on main: main leaves crank.pos with no fuse")
        for line in gone
    )
    assert "volts" in "".join(section(text, "Figures in mode night"))


def test_two_alike_specs_have_nothing_to_tell(van: Van) -> None:
    text = told(van(), van())
    assert "changes   none\n" in text
    assert "→" not in text


def test_a_figure_is_told_from_a_stated_step_on(van: Van) -> None:
    slightly = compare(van(), van(("draws 5 A", "draws 5.01 A")))
    assert slightly.figures == ()
    assert "current" in told(van(), van(("draws 5 A", "draws 5.01 A")), every_figure=True)
    assert not has_moved(12.0, 12.04, "V")
    assert has_moved(12.0, 12.05001, "V")
    assert not has_moved(1000.0, 1019.0, "A")  # 19 A, but less than 2 %
    assert has_moved(1000.0, 1030.0, "A")


def test_a_thinner_cable_moves_drop_margin_and_fault_current(van: Van) -> None:
    moved = {
        (m.kind, m.name, m.figure): (m.old, m.new)
        for m in compare(van(), van(("16 mm2 red", "2.5 mm2 red"))).figures
    }
    for key, rises in (
        (("runs", "main", "drop"), True),
        (("runs", "main", "margin"), False),
        (("faults", "main", "fault current at far end"), False),
    ):
        old, new = moved[key]
        assert old is not None
        assert new is not None
        assert (new > old) is rises


def test_a_fault_is_told_to_be_cleared_when_the_last_fuse_that_feeds_it_has_opened(van: Van) -> None:
    """A blade of 5 A for a strip of 60 A; where the cable is not known nobody can tell; without a fuse it has no end."""

    def opens(*changes: tuple[str, str]) -> tuple[float | None, float | None]:
        found = compare(van(), van(*changes)).figures
        return next((m.old, m.new) for m in found if (m.name, m.figure) == ("main", "fuse opens within"))

    slow, fast = opens(("fuse strip 60 A at", "fuse blade 5 A at"))
    assert fast is not None
    assert slow is not None
    assert fast < 0.01 < slow < 1.0
    assert opens(("cable 16 mm2 red 105 degC", "cable unknown"))[1] is None
    bare = "; fuse strip 60 A at 0.15 m", ""
    assert opens(bare) == (slow, inf)
    assert "no end" in told(van(), van(bare))
    rows = json.loads(told(van(), van(bare), form="json"))["figures"]
    [row] = [each for each in rows if (each["name"], each["figure"]) == ("main", "fuse opens within")]
    assert (row["new"], row["no_end"]) == (None, ["new"])


def test_findings_come_and_go_by_rule_and_names(van: Van) -> None:
    bad = (
        "circuit light from ways.1 to lamp { cable twin 2.5 mm2; along box 2 m; ends crimped",
        "circuit light from ways.1 to lamp { cable twin 2.5 mm2; along box 2 m; ends twisted",
    )
    there = compare(van(), van(bad, ("circuit light", "circuit lights")))
    assert ("twisted-joint", "lights") in {(each.rule, each.things[0]) for each in there.findings.new}
    still = {each.new.rule for each in there.findings.still}
    assert not still & {each.rule for each in there.findings.new if each.things[0] != "lights"}
    renamed = compare(van(bad), van(bad, ("circuit light", "circuit lights")))
    assert renamed.findings.new == ()
    assert renamed.findings.gone == ()
    assert ("twisted-joint", "twisted-joint") in {
        (each.old.rule, each.new.rule) for each in renamed.findings.still
    }


def test_copper_is_area_times_length_times_density(van: Van) -> None:
    # 16 mm² × 1.8 m twice, both legs of 2.5 mm² × 2 m and of 4 mm² × 3.5 m, 8 890 kg/m³ (IEC 60028, from memory)
    volume = 2 * 16e-6 * 1.8 + 2 * 2.5e-6 * 2 + 2 * 4e-6 * 3.5
    assert copper_of(van().ledger).kg == pytest.approx(volume * 8890, rel=1e-9)
    assert copper_of(van(("twin 4 mm2", "unknown")).ledger).unknown == ("water",)


def test_a_twin_is_cut_once_for_both_legs_and_singles_twice(van: Van) -> None:
    def count(made: Side) -> int:
        return sum(cord.run == "water" for cord in cords_of(made.ledger))

    assert count(van()) == 1
    assert count(van(("twin 4 mm2", "4 mm2"))) == 2


def test_the_cut_list_tells_metres_by_kind_of_cable(van: Van) -> None:
    cuts = {each.cable: (each.old, each.new) for each in compare(van(), van(("box 3.5 m", "box 5.5 m"))).cuts}
    (old, new) = cuts["twin 4 mm²"]
    assert old is not None
    assert new is not None
    assert new - old == pytest.approx(2.1)  # 2 m of route and its 5 % of slack
    assert list(cuts) == ["twin 4 mm²"]


def test_markdown_folds_what_is_long_and_leaves_new_findings_open(van: Van) -> None:
    text = told(
        van(), van(("crimped sealed tight }\ncircuit water", "twisted taped }\ncircuit water")), "markdown"
    )
    head, _, rest = text.partition("<details>")
    assert "#### New findings" in head
    assert "twisted-joint" in head
    assert rest.count("<details>") + 1 == rest.count("</details>")
    assert len(head.splitlines()) < 20


def test_text_of_a_spec_marks_up_nothing(van: Van) -> None:
    nasty = "<b>|`x`</b> [a](b) @all &lt; _i_ *b*"
    markdown = told(van(), van(('reason "the key switch parts it"', f'reason "{nasty}"')), "markdown")
    assert escaped(nasty) in markdown
    assert "<b>" not in markdown
    assert "@all" not in markdown
    html = told(van(), van(('"the key switch parts it"', f'"{nasty}"')), "html")
    assert "&lt;b&gt;" in html
    assert "<b>" not in html


class Outline(HTMLParser):
    """Every tag that is opened, whether all are closed, and all addresses."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.addresses += [value or "" for name, value in attrs if name in ("href", "src")]
        if tag not in ("meta", "br", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_is_whole_and_needs_nothing_else(orchard: tuple[Side, Side]) -> None:
    page = told(*orchard, "html")
    outline = Outline(page)
    assert outline.open == []
    assert outline.tags.count("h1") == 1
    assert "script" not in outline.tags
    assert outline.addresses == []
    assert "licensed electrician only" in page
    for row in re.findall(r"<tr.*?</tr>", page, re.DOTALL):
        cells = len(re.findall(r"<t[hd]\b", row)) + (2 if 'colspan="3"' in row else 0)
        assert cells == 4, row


def test_json_says_all_of_it_and_is_the_same_each_time(orchard: tuple[Side, Side]) -> None:
    text = told(*orchard, "json")
    assert text == told(*orchard, "json")
    data = json.loads(text)
    assert data["version"] == 1
    house = next(each for each in data["changed"] if each["name"] == "house")
    capacity = next(each for each in house["changes"] if each["field"] == "capacity")
    assert capacity["new"] == {"text": "120 Ah", "value": 432000.0, "dimension": "charge"}
    assert {"kind": "hub", "name": "box"} in data["rework"]["remove"]
    assert data["copper"]["kg_per_m3"] == 8890
    comparison: Comparison = compare(*orchard)
    assert len(data["figures"]) == len(comparison.figures)
    assert len(data["findings"]["gone"]) == len(comparison.findings.gone)
