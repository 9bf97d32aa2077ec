"""Limits are data: every one with unit, meaning, source and how firm that is."""

from __future__ import annotations

import pytest

from loomwright.facts.limits import BASES, LimitsError, limits_names, limits_of, load_limits

ROW = '[fuse-distance]\nvalue = "{}"\nsays = "s"\nsource = "x"\nbasis = "read"\n'


def test_every_limits_file_has_the_keys_and_dimensions_of_general() -> None:
    general = load_limits()
    for name in limits_names():
        other = load_limits(name)
        assert {key: one.dimension for key, one in other.items()} == {
            key: one.dimension for key, one in general.items()
        }


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
