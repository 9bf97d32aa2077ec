"""Systems of any size to be sized: hubs of eight ways with loads of all kinds, drawn by a fixed rule, nothing sized yet."""

from __future__ import annotations

HEAD = """fitout "Many loads" {{ stage planned; system 12 V }}
practice {{ sleeve split-tube; clips 0.25 m; ends crimped sealed tight }}
place box {{ ambient 40 degC }}
place tail {{ ambient 50 degC }}
battery house in box {{ chemistry lifepo4; capacity 300 Ah; internal 8 mohm; stud M8; serves house; held-down; sealed }}
busbar plus in box {{ studs {studs} x M8; rated 300 A }}
busbar minus in box {{ studs {studs} x M8; rated 300 A }}
feed house-main from house.pos to plus {{
    cable auto red 105 degC; along box 0.4 m; fuse strip auto at 0.15 m; label "MAIN"
    end house.pos lug auto M8; end plus lug auto M8
}}
earth house-return from minus to house.neg {{
    cable auto black 105 degC; along box 0.4 m; end minus lug auto M8; end house.neg lug auto M8
}}
mode work "everything on" {{ engine off; charge 60 %; on {loads} }}
"""
HUB = """hub hub-{hub} in box {{ rated 100 A; stud M6; negatives 8 x M4
{ways}
}}
feed feed-{hub} from plus to hub-{hub}.in {{
    cable auto red 105 degC; along box {metres} m; fuse strip auto at 0.1 m; label "HUB {hub}"
    end plus lug auto M8; end hub-{hub}.in lug auto M6
}}
earth back-{hub} from hub-{hub}.neg to minus {{
    cable auto black 105 degC; along box {metres} m; end hub-{hub}.neg lug auto M6; end minus lug auto M8
}}
"""
LOAD = """load {name} in tail {{ draws {draws}; {more} }}
circuit {name}-feed from hub-{hub}.{way} to {name} {{
    cable twin auto 105 degC; along box 0.5 m, tail {metres:g} m; ends blade-terminal crimped sealed tight
}}
"""


def many_loads(count: int) -> str:
    """A spec of so many loads, eight to a hub, everything `auto`."""
    hubs = -(-count // 8)
    names = [f"load-{index + 1}" for index in range(count)]
    parts = [HEAD.format(loads=", ".join(names), studs=hubs + 1)]
    for hub in range(hubs):
        own = names[hub * 8 : hub * 8 + 8]
        ways = "\n".join(f"    way {way} blade auto" for way in range(1, len(own) + 1))
        parts.append(HUB.format(hub=hub, ways=ways, metres=0.6 + 0.3 * hub))
        for way, name in enumerate(own, 1):
            index = hub * 8 + way
            amps = (0.2, 0.6, 1.4, 2.2, 0.4, 3.6, 0.9)[index % 7]
            draws = f"{amps * 12:g} W" if index % 3 == 0 else f"{amps:g} A"
            more = (
                "critical"
                if index % 7 == 4
                else f"surge {2 * amps:g} A for 0.2 s"
                if index % 4 == 0
                else "duty 50 %"
            )
            parts.append(
                LOAD.format(name=name, draws=draws, more=more, hub=hub, way=way, metres=1 + index * 7 % 13)
            )
    return "".join(parts)
