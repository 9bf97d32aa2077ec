"""The three trades' ways to name a conductor, the copper in each, and its resistance."""

from __future__ import annotations

import math
from functools import cache, lru_cache

from loomwright.record import Record
from loomwright.stock.cited import COMPUTED, READ, Cited, weakest
from loomwright.stock.tables import cite, linear, source_of, table

LARGEST_MM2 = 500.0
KINDS = ("area", "awg", "bs", "auto")
METALS = ("copper", "copper-clad", "aluminium")
_UNITS = {"area": " mm²", "awg": " AWG", "bs": " B&S", "auto": " mm auto"}
_THINNEST_AWG = 24
_THICKEST_AWG = -3


class UnknownSize(ValueError):
    """No conductor of that kind has that name; `nearest` holds the labels of the nearest that exist."""

    def __init__(self, kind: str, number: str, nearest: list[str]) -> None:
        hint = f" (nearest: {', '.join(nearest)})" if nearest else ""
        super().__init__(f"'{number}{_UNITS[kind]}' is no conductor size{hint}")
        self.kind = kind
        self.number = number
        self.nearest = nearest


class ConductorSize(Record):
    """A conductor as the trade names it. `gauge` is the AWG or B&S number ("8", "2/0"), None for the other kinds."""

    kind: str
    label: str
    area_mm2: float
    gauge: str | None
    source: str
    basis: str

    @property
    def standard(self) -> bool:
        """Whether the size is one that is made: gauges and auto cable always, areas when in the nominal series."""
        return self.kind != "area" or self.area_mm2 in table("conductors", "nominal_areas")["values"]


@lru_cache(maxsize=1024)
def conductor(kind: str, number: str) -> ConductorSize:
    """The conductor written `number` in the trade's way `kind` ("area", "awg", "bs", "auto").

    Gauge numbers larger than 1 are written "2/0" or "00" alike. Raises `UnknownSize`.
    """
    if kind == "area":
        return _by_area(number)
    if kind == "awg":
        return _by_awg(number)
    if kind in ("bs", "auto"):
        return _by_table(kind, number)
    raise ValueError(f"'{kind}' is no way to name a conductor: {', '.join(KINDS)}")


@cache
def sizes(kind: str) -> tuple[ConductorSize, ...]:
    """The sizes of a kind that the trade keeps, from thin to thick."""
    names: list[str]
    if kind == "area":
        names = [f"{row[0]:g}" for row in table("conductors", "class_5")["rows"]]
    elif kind == "awg":
        names = table("conductors", "stocked_awg")["values"]
    else:
        names = list(table("conductors", _TABLES[kind])["rows"])
    return tuple(sorted((conductor(kind, name) for name in names), key=lambda size: size.area_mm2))


def labelled(label: str) -> ConductorSize | None:
    """The size of a label like "16 mm²" or "8 B&S", its square and spaces written either way; None where there is no such."""
    plain = bare(label)
    for kind, unit in _UNITS.items():
        if plain.endswith(bare(unit)):
            try:
                return conductor(kind, plain.removesuffix(bare(unit)))
            except UnknownSize:
                return None
    return None


def bare(label: str) -> str:
    """A label without its spaces, the square written plainly: two that are alike so name one size."""
    return "".join(label.replace("²", "2").split())


def awg_area_mm2(gauge: str) -> float:
    """Area in mm² of a solid round wire of an AWG number (ASTM B258: 39 equal ratios from 0.127 mm to 11.684 mm)."""
    diameter: float = 0.127 * 92.0 ** ((36 - _gauge_step(gauge)) / 39)
    return math.pi / 4 * diameter**2


@lru_cache(maxsize=4096)
def resistance_per_metre(
    size: ConductorSize, celsius: float = 20.0, tinned: bool = False, metal: str = "copper"
) -> Cited:
    """Resistance of one metre in ohm at a conductor temperature.

    Copper by area: the largest that IEC 60228 allows class 5; between its rows resistance × area is interpolated by
    area, beyond them it is that of the end row. Copper by AWG, B&S or auto number, and other metals: resistivity of the
    metal over the area, × 1.02 for the lay of the strands. Tinned copper: × the ratio of the tinned to the plain
    column of IEC 60228 at that area. Temperature: IEC 60028, linear from 20 degC.
    """
    if metal not in METALS:
        raise ValueError(f"no resistivity for '{metal}': {', '.join(METALS)}")
    by_class_5 = size.kind == "area" and metal == "copper"
    at_20 = _class_5_ohm(size.area_mm2) if by_class_5 else _by_resistivity(size, metal)
    tin = _tin_factor(size.area_mm2) if tinned and metal == "copper" else 1.0
    source = at_20.source
    if tin != 1.0:
        source += " tinned" if by_class_5 else "; tinned by IEC 60228 Table 3"
    if celsius != 20.0:
        source += f"; to {celsius:g} degC by {table('conductors', metal)['source']}"
    return Cited(at_20.value * tin * temperature_factor(celsius, metal), source, at_20.basis)


def copper_temperature_factor(celsius: float) -> float:
    """Resistance of copper at a temperature over that at 20 degC (IEC 60028: 1 + 0.00393 (T − 20))."""
    return temperature_factor(celsius, "copper")


def temperature_factor(celsius: float, metal: str) -> float:
    """Resistance of a metal at a temperature over that at 20 degC."""
    coefficient: float = table("conductors", metal)["coefficient"]
    return 1.0 + coefficient * (celsius - 20.0)


def metal_current(metal: str) -> Cited:
    """What a conductor of a metal carries as a share of copper's: that at which it gives off the same heat."""
    found = table("conductors", "metal_current")
    if metal == "copper":
        return cite(1.0, found)
    ratio = table("conductors", "copper")["resistivity"] / table("conductors", metal)["resistivity"]
    return cite(math.sqrt(ratio), found, metal, weakest(COMPUTED, table("conductors", metal)["basis"]))


_TABLES = {"bs": "battery_cable", "auto": "auto_cable"}


def _by_area(number: str) -> ConductorSize:
    area = _positive(number)
    if area is None or area > LARGEST_MM2:
        raise UnknownSize("area", number, _nearest("area", area))
    return ConductorSize("area", f"{area:g} mm²", area, None, "nominal area", READ)


def _by_awg(number: str) -> ConductorSize:
    gauge = _gauge(number)
    if gauge is None:
        raise UnknownSize("awg", number, _nearest("awg", None))
    if not _THICKEST_AWG <= _gauge_step(gauge) <= _THINNEST_AWG:
        raise UnknownSize("awg", number, _nearest("awg", awg_area_mm2(gauge)))
    return ConductorSize("awg", f"{gauge} AWG", awg_area_mm2(gauge), gauge, "ASTM B258", COMPUTED)


def _by_table(kind: str, number: str) -> ConductorSize:
    """A size whose copper only the trade's own lists give."""
    areas = table("conductors", _TABLES[kind])
    name = _gauge(number) if kind == "bs" else _plain(number)
    if name is None or name not in areas["rows"]:
        sought = None if name is None else awg_area_mm2(name) if kind == "bs" else float(name)
        raise UnknownSize(kind, number, _nearest(kind, sought))
    printed = "0" * int(name[0]) if name.endswith("/0") else name
    gauge = name if kind == "bs" else None
    return ConductorSize(
        kind, f"{printed}{_UNITS[kind]}", float(areas["rows"][name]), gauge, areas["source"], areas["basis"]
    )


@cache
def _class_5_ohm(area: float) -> Cited:
    class_5 = table("conductors", "class_5")
    specific = [(row[0], row[1] * row[0]) for row in class_5["rows"]]
    exact = next((row[1] for row in class_5["rows"] if row[0] == area), None)
    if exact is not None:
        return Cited(exact / 1000.0, source_of(class_5, f"{area:g} mm²"), class_5["basis"])
    within = specific[0][0] < area < specific[-1][0]
    detail = f"{area:g} mm² between its rows" if within else f"{area:g} mm² beyond its rows"
    return Cited(linear(specific, area) / area / 1000.0, source_of(class_5, detail), COMPUTED)


def _by_resistivity(size: ConductorSize, metal: str) -> Cited:
    material, stranding = table("conductors", metal), table("conductors", "stranding")
    value = material["resistivity"] / (size.area_mm2 * 1e-6) * stranding["value"]
    source = f"{material['source']} resistivity over {size.area_mm2:.3g} mm² ({size.source}) × {stranding['value']:g} for stranding"
    return Cited(value, source, weakest(size.basis, COMPUTED))


@cache
def _tin_factor(area: float) -> float:
    return linear([(row[0], row[2] / row[1]) for row in table("conductors", "class_5")["rows"]], area)


def _nearest(kind: str, sought: float | None) -> list[str]:
    """Labels of the two sizes nearest to an area in mm² (auto cable: to a name in mm); all of a short list without."""
    known = sizes(kind)
    if sought is None:
        return [size.label for size in known] if kind in _TABLES else []
    measures = [float(size.label.split()[0]) if kind == "auto" else size.area_mm2 for size in known]
    ranked = sorted(zip(measures, known, strict=True), key=lambda pair: abs(math.log(pair[0] / sought)))
    return [size.label for _, size in sorted(ranked[:2], key=lambda pair: pair[0])]


def _positive(number: str) -> float | None:
    """The number when it is written in plain digits and is above zero."""
    digits = number.replace(".", "", 1)
    if not (digits.isascii() and digits.isdigit()) or len(number) > 40:
        return None
    value = float(number)
    return value if value > 0 else None


def _plain(number: str) -> str | None:
    value = _positive(number)
    return None if value is None else f"{value:g}"


def _gauge(number: str) -> str | None:
    """A gauge number in the one form "8", "1/0", "2/0"; None when it is no gauge number."""
    if number in ("0", "00", "000", "0000"):
        return f"{len(number)}/0"
    if number in ("1/0", "2/0", "3/0", "4/0"):
        return number
    plain = number.isascii() and number.isdigit() and number[0] != "0" and len(number) < 3
    return number if plain else None


def _gauge_step(gauge: str) -> int:
    """The n of the gauge's definition: 1/0 is 0, 2/0 is -1."""
    return 1 - int(gauge[0]) if gauge.endswith("/0") else int(gauge)
