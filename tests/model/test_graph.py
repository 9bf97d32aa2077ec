"""What the graph answers: sources at each end with the fuses on the way, what hangs where, how current comes back."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.model.graph import Feeding, Graph
from loomwright.model.things import Device, Installation, Run

Built = Callable[..., Installation]


def run(installation: Installation, name: str, role: str = "feed") -> Run:
    return next(each for each in installation.runs if each.name == name and each.role == role)


def told(feedings: tuple[Feeding, ...]) -> dict[str, list[str]]:
    return {each.source.name: [fuse.rating.text for fuse in each.fuses] for each in feedings}


def at_start(graph: Graph, fed: Run) -> tuple[Feeding, ...]:
    """What feeds a fault in a run by its start, not through itself."""
    return graph.feeds(fed.start, without=fed)


def at_end(graph: Graph, fed: Run) -> tuple[Feeding, ...]:
    return graph.feeds(fed.end, without=fed)


def names(things: object) -> list[str]:
    return [each.name for each in things]  # type: ignore[attr-defined]


# ---------------------------------------------------------------- sources


def test_the_sources_at_each_end_come_with_the_fuses_met_on_the_way(planned: Installation) -> None:
    graph = Graph(planned)
    assert told(at_start(graph, run(planned, "main"))) == {"crank": [], "gen": ["150 A"]}
    assert told(at_end(graph, run(planned, "main"))) == {}  # a charger passes nothing from in to out
    assert told(at_start(graph, run(planned, "charge"))) == {"dcdc": []}
    assert told(at_end(graph, run(planned, "charge"))) == {"house": []}
    assert told(at_start(graph, run(planned, "pump"))) == {
        "house": ["80 A", "15 A"],
        "dcdc": ["50 A", "80 A", "15 A"],
    }
    assert [each.source.limited for each in at_start(graph, run(planned, "hub-feed"))] == [False, True]


def test_a_battery_to_battery_feed_is_fed_at_both_ends(as_found: Installation) -> None:
    graph = Graph(as_found)
    main = run(as_found, "main")
    assert told(at_start(graph, main)) == {"crank": [], "gen": ["150 A"]}
    assert told(at_end(graph, main)) == {"house": []}
    assert told(at_end(graph, run(as_found, "gen-link"))) == {"crank": [], "house": []}


def test_a_relay_and_a_plug_pass_current_and_their_fuses_stay_in_order(marsh_lab: Installation) -> None:
    graph = Graph(marsh_lab)
    drawbar = at_start(graph, run(marsh_lab, "drawbar-feed"))
    assert told(drawbar) == {"crank": ["50 A"], "gen": ["175 A", "50 A"]}
    assert [hop.link.by.name for hop in drawbar[0].path] == ["relay-feed", "split", "tow-feed", "tow"]
    assert names(drawbar[0].runs) == ["relay-feed", "tow-feed"]
    assert told(at_start(graph, run(marsh_lab, "sense-trailer", "signal"))) == {"ignition": ["3 A"]}


def test_of_two_ways_the_least_protected_counts(built: Built) -> None:
    installation = built(
        "busbar bar in box\n"
        "feed thick from crank.pos to bar { fuse strip 100 A at 0.1 m }\n"
        "feed thin from crank.pos to bar { fuse strip 30 A at 0.1 m }\n"
        "feed on from bar to ways.in"
    )
    graph = Graph(installation)
    assert told(at_start(graph, run(installation, "on"))) == {"crank": ["100 A"]}
    assert told(at_end(graph, run(installation, "thick"))) == {"crank": ["30 A"]}
    assert told(at_end(graph, run(installation, "thin"))) == {"crank": ["100 A"]}


def test_a_ring_feeds_each_of_its_runs_from_both_ends(built: Built) -> None:
    installation = built(
        "busbar a in box\nbusbar b in box\nfeed one from crank.pos to a\nfeed two from a to b\nfeed three from b to crank.pos"
    )
    graph = Graph(installation)
    for name in ("one", "two", "three"):
        made = run(installation, name)
        assert set(told(at_start(graph, made))) == {"crank"}
        assert set(told(at_end(graph, made))) == {"crank"}


def test_fuses_that_nobody_has_looked_for_are_said_to_be_unsure(built: Built) -> None:
    installation = built("feed one from crank.pos to ways.in\ncircuit two from ways.1 to lamp", "as-found")
    (feeding,) = at_start(Graph(installation), run(installation, "two"))
    assert [each.what for each in feeding.unsure] == ["the fuses of one"]
    assert [fuse.rating.text for fuse in feeding.fuses] == ["10 A"]


def test_a_positive_wired_to_its_own_return_is_a_short_circuit(built: Built) -> None:
    assert Graph(built()).short_circuits() == ()
    (short,) = Graph(
        built("switch s in box\nfeed a from crank.pos to s.in\nearth b from s.out to chassis")
    ).short_circuits()
    assert short.source.name == "crank"
    assert names(short.runs) == ["a", "b"]


# ---------------------------------------------------------------- what hangs where


def test_a_run_carries_what_hangs_on_it(planned: Installation) -> None:
    graph = Graph(planned)
    loads = ["incubator", "work-lights", "syrup-pump", "radio"]
    assert [fed.consumer.name for fed in graph.downstream(run(planned, "hub-feed"))] == loads
    assert graph.downstream(run(planned, "hub-feed"), forward=False) == ()
    assert [fed.consumer.name for fed in graph.downstream(run(planned, "pump"))] == ["syrup-pump"]
    (charging,) = graph.downstream(run(planned, "charge"))
    assert (charging.consumer.name, charging.source.name, charging.charging) == ("house", "dcdc", True)
    returning = [fed.consumer.name for fed in graph.downstream(run(planned, "house-return", "earth"))]
    assert returning == ["house", *loads]


def test_a_consumer_lives_on_the_nearest_battery(as_found: Installation) -> None:
    graph = Graph(as_found)
    pump = as_found.named["syrup-pump"]
    assert isinstance(pump, Device)
    (fed,) = graph.feeds_device(pump)
    assert fed.source.name == "house"
    assert {(each.consumer.name, each.source.name) for each in graph.fed if each.charging} == {
        ("crank", "gen"), ("house", "gen"),
    }  # fmt: skip


def test_a_feed_written_against_its_current_is_counted_backwards(built: Built) -> None:
    installation = built("feed one from ways.in to crank.pos\ncircuit two from ways.1 to lamp")
    graph = Graph(installation)
    assert graph.downstream(run(installation, "one")) == ()
    assert [fed.consumer.name for fed in graph.downstream(run(installation, "one"), forward=False)] == [
        "lamp"
    ]


# ---------------------------------------------------------------- the way back


def back(installation: Installation, name: str) -> list[str] | None:
    graph = Graph(installation)
    device = installation.named[name]
    assert isinstance(device, Device)
    found = graph.returns(graph.feeds_device(device)[0])
    return None if found is None else [hop.link.by.name for hop in found.path]


def test_current_comes_back_through_runs_contacts_and_structures(marsh_lab: Installation) -> None:
    graph = Graph(marsh_lab)
    assert back(marsh_lab, "sample-pump") == [
        "pump-feed", "bench-return", "hub-return", "shunt-minus", "coulomb", "house-shunt",
    ]  # fmt: skip
    dcdc = marsh_lab.named["dcdc"]
    assert isinstance(dcdc, Device)
    way = graph.returns(graph.feeds_device(dcdc)[0])
    assert way is not None
    assert names(way.structures) == ["chassis"]
    assert names(way.runs) == ["dcdc-return", "drawbar-return", "tow-return"]


def test_the_vehicles_own_supply_comes_back_to_its_chassis(marsh_lab: Installation) -> None:
    graph = Graph(marsh_lab)
    assert graph.vehicle_return == "chassis"
    assert back(marsh_lab, "tank-gauge") == ["gauge-feed", "dash-earth"]


def test_a_charge_whose_return_ends_on_an_island_does_not_come_back(as_found: Installation) -> None:
    graph = Graph(as_found)
    house = as_found.named["house"]
    assert isinstance(house, Device)
    (fed,) = graph.feeds_device(house)
    assert graph.returns(fed) is None
    assert [names(island) for island in graph.islands] == [["toolbox-skin"]]
    assert back(as_found, "crank") == ["chassis", "gen"]


def test_a_structure_is_no_island_once_an_earth_joins_it_to_a_bonded_one(built: Built) -> None:
    skin = "structure skin { metal aluminium; mount rubber }\nearthpoint lid on skin in box\n"
    assert [names(island) for island in Graph(built(skin)).islands] == [["skin"]]
    joined = Graph(built(skin + "earth strap from lid to chassis"))
    assert joined.islands == ()
    assert not joined.is_island(joined.installation.structures[1])


def test_an_alternator_is_bonded_to_the_cranking_batterys_neg_where_no_structure_is() -> None:
    from loomwright.model.load import load

    text = (
        'fitout "x" { stage planned; system 12 V }\nplace bay\nalternator gen in bay\nbattery crank in bay { serves cranking }\n'
        "feed link from gen.pos to crank.pos"
    )
    installation = load(text, None).installation
    assert installation is not None
    assert Graph(installation).vehicle_return == "crank.neg"
    assert back(installation, "crank") == ["gen"]


def test_a_load_on_a_plug_returns_by_the_plugs_own_negative(built: Built) -> None:
    installation = built(
        "plug tow in box\nfeed a from crank.pos to tow.pos-a\nearth b from tow.neg-a to crank.neg\ncircuit c from tow.pos-b to lamp"
    )
    assert back(installation, "lamp") == ["c", "tow", "b"]
