"""`stock.fuses` against ISO 8820. Operating times, and the scope of part 3, are from memory and must say so."""

from __future__ import annotations

import pytest

from loomwright.analysis.opening import holds_for, opens_by
from loomwright.stock.fuses import Gate, colour, kind, kinds


@pytest.mark.parametrize("name", ["blade", "mini"])
def test_blade_gates_are_those_of_iso_8820_3_types_c_and_f(name: str) -> None:
    """ISO 8820-3 operating times, from memory."""
    assert kind(name).gates == (
        Gate(1.10, 360000, None),
        Gate(1.35, 0.75, 600),
        Gate(1.60, 0.25, 50),
        Gate(2.00, 0.15, 5),
        Gate(3.50, 0.04, 0.5),
        Gate(6.00, 0.02, 0.1),
    )
    assert kind(name).gates_basis == "memory"


def test_maxi_gates_are_those_of_iso_8820_3_type_e() -> None:
    """ISO 8820-3 operating times, from memory."""
    gates = {gate.multiple: (gate.min_s, gate.max_s) for gate in kind("maxi").gates}
    assert gates == {
        1.1: (360000, None),
        1.35: (60, 1800),
        1.6: (8, 160),
        2: (2, 60),
        3.5: (0.2, 7),
        6: (0.04, 1),
    }


@pytest.mark.parametrize("rating", [60, 225])
def test_class_t_gates_keep_the_overload_limits_of_ul_248_15(rating: float) -> None:
    """Carries 110 % and opens at 135 % within 2 h, at 200 % within 12 min: UL 248-15, from memory. Faster than a strip fuse
    at 3 times its rating and above: common practice, no source."""
    gates, strip = (
        [(gate.multiple, gate.min_s, gate.max_s) for gate in kind(name).gates]
        for name in ("class-t", "strip")
    )
    assert holds_for(gates, rating, 1.1 * rating) >= 4 * 3600
    assert opens_by(gates, rating, 1.35 * rating) <= 2 * 3600
    assert opens_by(gates, rating, 2 * rating) <= 12 * 60
    for multiple in (3, 3.5, 4, 5, 6, 8, 10, 20):
        assert opens_by(gates, rating, multiple * rating) <= opens_by(strip, rating, multiple * rating)


SF30_LISTS = (
    {1.35: (60, 1800), 2.0: (1, 15), 3.5: (0.3, 5), 6.0: (0.1, 1)},
    {1.5: (90, 3600), 2.0: (3, 100), 3.0: (0.3, 3), 5.0: (0.1, 1)},
)


@pytest.mark.parametrize("remembered", SF30_LISTS)
def test_the_strip_gates_contain_both_remembered_lists_of_iso_8820_5(
    remembered: dict[float, tuple[float, float]],
) -> None:
    """Two lists for SF30, both from memory: the slower longest and the lower shortest time stand."""
    gates = {gate.multiple: gate for gate in kind("strip").gates}
    for multiple, (shortest, longest) in remembered.items():
        gate = gates[multiple]
        assert gate.min_s is not None
        assert gate.max_s is not None
        assert gate.min_s <= shortest
        assert gate.max_s >= longest


@pytest.mark.parametrize(
    ("name", "amps", "volts"),
    [
        ("strip", 2000, 32),
        ("strip-large", 2000, 32),
        ("blade", 1000, 32),
        ("maxi", 1000, 32),
        ("class-t", 20000, 125),
    ],
)
def test_breaking_capacities_are_those_of_the_scopes(name: str, amps: float, volts: float) -> None:
    """ISO 8820-5 scope (read); ISO 8820-3 scope and UL 248-15 from memory."""
    known = kind(name)
    assert (known.breaking_capacity_amps.value, known.rated_volts) == (amps, volts)
    assert (known.breaking_capacity_amps.mark == "") == name.startswith("strip")


@pytest.mark.parametrize(("name", "least", "most"), [("blade", 0.5, 40), ("mini", 2, 30), ("strip", 30, 200)])
def test_ratings_lie_in_the_range_of_the_standard(name: str, least: float, most: float) -> None:
    """ISO 8820-3 types C and F; ISO 8820-5 scope: from 30 A."""
    known = kind(name)
    assert min(known.ratings + known.rare_ratings) >= least
    assert max(known.ratings + known.rare_ratings) == most


@pytest.mark.parametrize(
    ("name", "amps", "word"),
    [
        ("blade", 5, "tan"),
        ("blade", 10, "red"),
        ("mini", 15, "blue"),
        ("blade", 30, "green"),
        ("maxi", 50, "red"),
        ("maxi", 60, "blue"),
    ],
)
def test_body_colours_are_those_of_iso_8820_3(name: str, amps: float, word: str) -> None:
    found = colour(kind(name), amps)
    assert found is not None
    assert (found.value, found.mark) == ((word,), "")


def test_what_no_standard_was_read_for_says_so() -> None:
    unread = [known for known in kinds() if known.gates_basis == "common practice, no source"]
    assert [known.name for known in unread] == ["breaker", "breaker-auto", "electronic"]
    assert all(known.breaking_capacity_amps.mark == "common practice, no source" for known in unread)
