"""Limits are data: every one with unit, meaning, source and how firm that is."""

from __future__ import annotations

import tomllib

import pytest

from loomwright import resources
from loomwright.facts.limits import BASES, LimitsError, limit_of, limits_names, limits_of, load_limits

ROW = '[fuse-distance]\nvalue = "{}"\nsays = "s"\nsource = "x"\nbasis = "read"\n'


def test_every_limits_file_has_the_keys_and_dimensions_of_general() -> None:
    general = load_limits()
    for name in limits_names():
        other = load_limits(name)
        assert {key: (one.dimension, one.least, one.most) for key, one in other.items()} == {
            key: (one.dimension, one.least, one.most) for key, one in general.items()
        }


@pytest.mark.parametrize("file", limits_names())
def test_every_limit_of_a_file_would_pass_as_a_workshops_own(file: str) -> None:
    limits = load_limits(file)
    for name, table in tomllib.loads(resources.text("rules", "limits", f"{file}.toml")).items():
        assert limit_of(name, table["value"], limits[name], "x.toml").value == limits[name].value


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("battery-ageing", "0 %", "must be above 0 %, and at most 100 %: '0 %' is not"),
        ("charge-efficiency-lithium", "300 %", "at most 100 %: '300 %' is not"),
        ("fuse-distance", "-100 mm", "must be above 0 m"),
        ("drop-critical", "-3 %", "must be above 0 %, and at most 100 %"),
        ("selectivity", "0 %", "must be 100 % or more"),
        ("fuse-over-cable", "-100 %", "must be above 0 %, and at most 150 %"),
        ("contact-lug", "-1 mohm", "must be 0"),
        ("lugs-per-stud", "0", "must be 1 or more"),
        ("parked-time", "-3 d", "must be above 0"),
        ("conductor-unstated", "-250 degC", "must be -60 °C or more, and at most 250 °C"),
    ],
)
def test_a_workshops_figure_that_could_not_be_is_refused(name: str, text: str, says: str) -> None:
    with pytest.raises(LimitsError) as error:
        limit_of(name, text, load_limits()[name], "loomwright.toml")
    assert f"the limit {name} " in str(error.value)
    assert says in str(error.value)


@pytest.mark.parametrize(
    ("name", "text"),
    [("contact-lug", "0 mohm"), ("insulation-margin", "0 K"), ("coldest-unstated", "-30 degC"), ("usable-lithium", "100 %")],
)  # fmt: skip
def test_a_workshops_figure_at_the_edge_is_taken(name: str, text: str) -> None:
    assert limit_of(name, text, load_limits()[name], "loomwright.toml")


@pytest.mark.parametrize("name", limits_names())
def test_every_limit_says_what_it_means_and_where_it_stands(name: str) -> None:
    for limit in load_limits(name).values():
        assert limit.says.endswith(".")
        assert limit.source
        assert limit.basis in BASES
        assert "://" not in limit.source
        assert (limit.basis == BASES[-1]) == (limit.source == "common practice"), limit.name


@pytest.mark.parametrize(
    ("name", "si", "source"),
    [
        ("fuse-distance", 7 * 0.0254, "33 CFR 183.455(b)(1), 7 in"),
        ("fuse-distance-sheathed", 40 * 0.0254, "33 CFR 183.455(b)(2), 40 in"),
        ("fuel-line-distance", 6 * 0.0254, "AC 43.13-1B 11-96, 6 in"),
        ("fuel-line-least", 2 * 0.0254, "AC 43.13-1B 11-96, 2 in"),
        ("support-interval", 0.450, "ISO 10133 cl. 7.3"),
        ("support-interval-battery", 0.300, "ISO 10133 cl. 7.4"),
        ("first-support", 1.0, "ISO 10133 cl. 7.4"),
        ("drop-critical", 0.03, "ABYC E-11 11.14.2.6"),
        ("drop-other", 0.10, "ABYC E-11 11.14.2.6"),
        ("least-area-single", 1e-6, "ISO 10133 cl. 7.7"),
        ("lugs-per-stud", 4, "AC 43.13-1B 11-174"),
        ("vent-area", 1100e-6, "NEC 552.10(D)"),
        ("bond-resistance", 3e-3, "AC 43.13-1B 11-189"),
    ],
)
def test_figures_are_those_of_the_codes(name: str, si: float, source: str) -> None:
    limit = load_limits()[name]
    assert limit.value == pytest.approx(si, rel=5e-3)  # codes round inches to whole millimetres
    assert limit.source.split(" ")[0] == source.split(" ")[0]


def test_an_unknown_limits_file_names_the_known_ones() -> None:
    with pytest.raises(LimitsError, match=r"there are no limits 'aircraft'.*general"):
        load_limits("aircraft")
    with pytest.raises(LimitsError):
        load_limits("../../pyproject")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (ROW.format("178 squid"), "'squid' is no unit"),
        (ROW.format("178 mm").replace("read", "seen"), "basis 'seen'"),
        (ROW.format("178 mm").replace('says = "s"\n', ""), "must have the texts"),
        (ROW.format("178 mm") + "more = 3\n", "must have the texts"),
        ("fuse-distance = 3", "must have the texts"),
        ("[", "x.toml"),
        (ROW.format("178 mm") + 'least = "3 A"\n', "'3 A' bounds no length"),
    ],
)
def test_a_wrong_limits_file_says_what_is_wrong_and_where(text: str, says: str) -> None:
    with pytest.raises(LimitsError) as error:
        limits_of(text, "x.toml")
    assert "x.toml" in str(error.value)
    assert says in str(error.value)


def test_values_are_quantities_counts_or_words() -> None:
    found = {
        text: limits_of(ROW.format(text), "x.toml")["fuse-distance"]
        for text in ("178 mm", "75 degC", "4", "bare", "3 %")
    }
    assert [(one.value, one.dimension, one.text) for one in found.values()] == [
        (pytest.approx(0.178), "length", "178 mm"),
        (75.0, "temperature", "75 °C"),
        (4.0, "count", "4"),
        ("bare", "word", "bare"),
        (pytest.approx(0.03), "ratio", "3 %"),
    ]
