"""After the cables: inspect, test dead, join the sources, fuse one at a time, test live, hand over."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.model import things as t
from loomwright.sheets.document import Step
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name, made_up
from loomwright.sheets.order.before import is_there, there_already
from loomwright.sheets.order.cables import on_battery
from loomwright.sheets.order.section import FITTER, TESTER, Cautioner, Section, step
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.readings import DEAD, LIVE, SOAK, Trial, trials
from loomwright.sheets.terms import fuse_title, reach
from loomwright.sheets.words import counted, describe, fuse_name, known, listed, place_name, shown, worst_mode
from loomwright.stock import fuses as stock

AT_REST, WITH_FUSES = "E2", ("E1", "E3")
"""The test made when the batteries are joined, and those made as each fuse goes in."""
LOOK = ("T1", "T9", "T10", "T11", "T12", "T14", "T15")
"""The dead tests that are made by eye and hand."""


def inspect(job: Job) -> Section:
    """What is looked at and pulled before anything is measured."""
    steps = (_test(one) for one in trials(job) if one.id in LOOK)
    says = "By somebody who did not do the work, where there is one. The numbers are those of the commissioning record."
    return Section("Inspect", says, tuple(steps))


def test_dead(job: Job) -> Section:
    steps = (_test(one) for one in trials(job) if one.section == DEAD and one.id not in LOOK)
    says = "All fuses out, all loads unplugged, no battery joined. Write every reading into the commissioning record."
    return Section("Test dead", says, tuple(steps))


def _test(test: Trial, person: str = TESTER) -> Step:
    rows = f" ({counted(len(test.rows), 'reading')})" if len(test.rows) > 1 else ""
    return step(
        f"test-{test.id}",
        f"{test.id}: {test.name}{rows}.",
        f"How: {test.method}.",
        f"Limit: {test.limit}.",
        person=person,
    )


# ---------------------------------------------------------------- join the sources


def join_sources(job: Job) -> Section:
    """The leads onto the batteries, the earthed one of each last; then the panels."""
    tell = Cautioner(job)
    steps = [
        step(
            "join-out",
            f"Look once more that all {counted(len(fuses_of(job)), 'fuse')} are out and {_off(job)}.",
            person=TESTER,
        )
    ]
    for battery in _batteries(job):
        steps += _join(battery, job, tell)
    for device in job.installation.devices:
        if isinstance(device, t.Solar):
            steps.append(
                step(
                    f"join-{device.name}",
                    f"Put the plug of {device.name} together, then uncover it.",
                    "Only after the batteries: a controller must see its battery first.",
                    place=device.place.name,
                    cautions=tell.before("energise.solar"),
                )
            )
    steps += [_test(one) for one in trials(job) if one.id == AT_REST]
    says = (
        "Batteries before panels, positive leads before negative ones. With the fuses out nothing may happen."
    )
    return Section("Join the sources", says, tuple(steps))


def _off(job: Job) -> str:
    names = [
        device.name
        for device in job.installation.devices
        if isinstance(device, t.Contact) and device.kind != "shunt"
    ]
    return f"{listed(names)} {'are' if len(names) > 1 else 'is'} off" if names else "nothing is switched on"


def _batteries(job: Job) -> list[t.Battery]:
    """The vehicle's own first: it is tied to the structure that the others are measured against."""
    batteries = [device for device in job.installation.devices if isinstance(device, t.Battery)]
    return sorted(batteries, key=lambda battery: battery.serves != "cranking")


def _join(battery: t.Battery, job: Job, tell: Cautioner) -> Iterator[Step]:
    for label, word in (("pos", "positive"), ("neg", "negative")):
        point = job.installation.terminals[f"{battery.name}.{label}"]
        ends = [end for end in job.installation.landing_on.get(point, ()) if on_battery(end)]
        leads = listed(dict.fromkeys(leg_name(end.run) for end in ends)) if ends else "its own lead"
        torques = [made.torque for end in ends if (made := made_up(end, job.ledger)).torque]
        yield step(
            f"join-{battery.name}-{label}",
            f"Join the {word} of {battery.name} ({describe(battery)}): {leads}.",
            "The vehicle's own leads go back on with it." if _was_there(battery, job) else "",
            f"{reach(torques[0].low, torques[0].high)} N m, then mark it; the battery maker's figure wins."
            if torques and torques[0]
            else "",
            "A spark here means that something is on: take it off again and find out what."
            if label == "neg"
            else "",
            place=battery.place.name,
            cautions=tell.before("energise.leads"),
        )


def _was_there(battery: t.Battery, job: Job) -> bool:
    return any(
        device.name == battery.name and is_there(device, job) for device in there_already(job).devices
    ) and (battery.serves == "cranking")


# ---------------------------------------------------------------- fuses


def insert_fuses(job: Job) -> Section:
    """One fuse at a time, each after those that it is fed through."""
    tell = Cautioner(job)
    order = sorted(fuses_of(job), key=lambda fuse: depth(fuse, job))
    firsts = [fuse for fuse in order if depth(fuse, job) == 0]
    steps = [_fuse(number, fuse, job, tell) for number, fuse in enumerate(firsts)]
    steps += _switch_on(job)
    steps += [_fuse(number, fuse, job, tell) for number, fuse in enumerate(order[len(firsts) :], len(firsts))]
    says = (
        "One at a time, from the sources outward. The first goes in through a lamp of 21 W or a supply limited to 2 A: it must stay"
        " dark with all loads off (E1). After each, switch on what hangs on it, compare the amps and write them down (E3); beyond"
        " ± 10 % stop and find out why."
    )
    return Section("Insert the fuses", says, tuple(steps))


def depth(fuse: t.Fuse, job: Job) -> int:
    """How many fuses lie between it and its source."""
    seen: list[t.Fuse] = []
    here: t.Fuse | None = fuse
    while here is not None and here not in seen:
        seen.append(here)
        here = known(job.ledger, here, "upstream")
    return len(seen) - 1


def fuse_key(fuse: t.Fuse, job: Job) -> str:
    """A key that stays: a way's by its name, a run's by its name and which of its fuses it is."""
    if fuse.run is None:
        return f"fuse-{fuse.name}"
    fuses = job.installation.fuses_of[fuse.run]
    place = fuses.index(fuse) if isinstance(fuses, tuple) else 0
    return f"fuse-{fuse.name}-{fuse.run.role}-{place + 1}"


def _fuse(number: int, fuse: t.Fuse, job: Job, tell: Cautioner) -> Step:
    place = fuse.place or (fuse.way.hub.place if fuse.way else None)
    kind = stock.kind(fuse.kind)
    verb = "Close the" if kind.resets else "Insert the"
    worst = worst_mode(job.ledger, fuse, "load-current")
    expected = _expected(*worst) if worst and worst[1] else ""
    loads = [load.name for load in known(job.ledger, fuse, "loads") or ()]
    return step(
        fuse_key(fuse, job),
        f"{verb} {fuse_title(fuse)}: {fuse_name(fuse)}{f', {place_name(place)}' if place else ''}.",
        "Through the lamp first: dark with all loads off." if number == 0 else "",
        f"It feeds {listed(loads)}." if loads else "",
        expected,
        f"{reach(kind.torque.low, kind.torque.high)} N m; the holder maker's figure wins."
        if kind.torque
        else "",
        person=FITTER,
        place=place.name if place else "",
        run=fuse.run.name if fuse.run else "",
        cautions=tell.before("fuses"),
    )


def _expected(mode: t.Mode, amps: float) -> str:
    says = f" ({mode.says})" if mode.says else ""
    return f"Expect {shown(amps, 'A')} in mode {mode.name}{says}, the most that any mode asks of it."


def _switch_on(job: Job) -> Iterator[Step]:
    """Isolators and switches, when what is ahead of them is live and nothing behind them is."""
    for device in job.installation.devices:
        if isinstance(device, t.Contact) and device.kind in ("isolator", "switch") and not device.maker:
            yield step(
                f"on-{device.name}",
                f"Switch on {device.name}.",
                "Nothing may happen: no fuse behind it is in.",
                place=device.place.name,
            )


# ---------------------------------------------------------------- live, hand over


def test_live(job: Job) -> Section:
    tell = Cautioner(job)
    done = (AT_REST, *WITH_FUSES)
    steps = [_test(one) for one in trials(job) if one.section in LIVE and one.id not in done]
    if steps:
        first = steps[0]
        steps[0] = Step(
            first.key, first.words, first.details, tell.before("live"), first.place, first.person, first.run
        )
    says = (
        "Write every reading into the commissioning record: it has the predicted value and the limit of each."
    )
    return Section("Test live", says, tuple(steps))


def hand_over(job: Job) -> Section:
    tell = Cautioner(job)
    steps = [
        *(_test(one) for one in trials(job) if one.section == SOAK),
        step(
            "hand-chart",
            "Stick the fuse chart in the lid and the labels on the runs.",
            cautions=tell.before("hand-over"),
        ),
        step(
            "hand-card",
            "Fill in the owner's card, go through it with the owner at the vehicle, and let them switch everything once.",
        ),
        step(
            "hand-sign",
            "Sign the cover and the commissioning record. One set of papers goes with the vehicle, one stays here.",
        ),
    ]
    return Section(
        "Hand over", "Nothing is handed over with a test that failed or was not made.", tuple(steps)
    )
