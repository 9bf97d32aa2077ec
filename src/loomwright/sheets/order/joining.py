"""Making it live: the batteries, the fuses one at a time, and the panels when their controller has its battery."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.model import things as t
from loomwright.sheets.document import Step
from loomwright.sheets.fuse_chart import NOTHING, fed_by
from loomwright.sheets.job import Job
from loomwright.sheets.making import leg_name, made_up
from loomwright.sheets.order.before import is_there, there_already
from loomwright.sheets.order.cables import on_battery
from loomwright.sheets.order.live import behind_contact, behind_fuse, contacts_behind
from loomwright.sheets.order.section import FITTER, TESTER, Cautioner, Section, fuse_key, step, trial_step
from loomwright.sheets.owner_card import fuses_of
from loomwright.sheets.readings import Trial, trials
from loomwright.sheets.record.live import turned_down
from loomwright.sheets.record.reading import depth
from loomwright.sheets.terms import fuse_title, reach
from loomwright.sheets.words import (
    DEVICE_WORDS,
    at_level,
    counted,
    describe,
    ended,
    fuse_name,
    known,
    listed,
    place_name,
    shown,
    worst_mode,
)
from loomwright.stock import fuses as stock

AT_REST, LAST_NUTS, PANELS = "E2", "E7", "T30"
DONE = (AT_REST, "E1", "E3", LAST_NUTS, PANELS)
"""The tests that are made while it is made live: they are not asked for again."""


def join_batteries(job: Job) -> Section:
    """The leads onto the batteries, the earthed one of each last."""
    tell = Cautioner(job)
    steps = [
        step(
            "join-out",
            f"Look once more that all {counted(len(fuses_of(job)), 'fuse')} are out, {_off(job)}"
            f"{_apart(job)}.",
            person=TESTER,
        )
    ]
    for battery in _batteries(job):
        steps += _join(battery, job, tell)
    steps += _tests(job, AT_REST)
    says = "Positive leads before negative ones. With the fuses out nothing may happen."
    if _panels(job):
        says += " The panels come after the fuses: a controller must see its battery first."
    return Section("Join the batteries", says, tuple(steps), always=True)


def _tests(job: Job, *numbers: str) -> Iterator[Step]:
    return (trial_step(one) for one in trials(job) if one.id in numbers)


def _panels(job: Job) -> list[t.Solar]:
    return [device for device in job.installation.devices if isinstance(device, t.Solar)]


def _plugs(job: Job) -> list[str]:
    return [device.name for device in job.installation.devices if isinstance(device, t.Plug)]


def _apart(job: Job) -> str:
    """The plugs that are still parted: between two vehicles, and those of panels."""
    names = [*_plugs(job), *(f"the plug of {panel.name}" for panel in _panels(job))]
    return f", and that {listed(names)} {'are' if len(names) > 1 else 'is'} apart" if names else ""


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
    steps = [_fuse(fuse, job, tell) for fuse in firsts]
    steps += _switch_on(job, tell)
    steps += [_fuse(fuse, job, tell) for fuse in order[len(firsts) :]]
    steps += _all_on(order, job)
    steps += _tests(job, LAST_NUTS)
    says = (
        "One at a time, from the sources outward. Each that no other fuse stands before goes in through a lamp of 21 W or a supply"
        " limited to 2 A: it must stay dark with all loads off (E1). After each, switch on what hangs on it, compare the amps and"
        " write them down (E3); beyond ± 10 % stop and find out why."
    )
    return Section("Insert the fuses", says, tuple(steps), always=True)


def _fuse(fuse: t.Fuse, job: Job, tell: Cautioner) -> Step:
    place = fuse.place or (fuse.way.hub.place if fuse.way else None)
    kind = stock.kind(fuse.kind)
    verb = "Close the" if kind.resets else "Insert the"
    loads = fed_by(fuse, job)
    live = behind_fuse(fuse, job)
    first = depth(fuse, job) == 0
    return step(
        fuse_key(fuse, job),
        f"{verb} {fuse_title(fuse)}: {fuse_name(fuse)}{f', {place_name(place)}' if place else ''}.",
        "Through the lamp first: dark with all loads off, a blink of what charges itself apart."
        if first
        else "",
        f"It feeds {listed(loads)}." if loads else "",
        _live_now(live) if any(isinstance(device, t.Inverter) for device in live) else "",
        _expected(fuse, job),
        f"{reach(kind.torque.low, kind.torque.high)} N m; the holder maker's figure wins."
        if kind.torque
        else "",
        person=FITTER,
        place=place.name if place else "",
        run=fuse.run.name if fuse.run else "",
        cautions=tell.before("fuses", *_stands(live)),
    )


def _stands(live: Iterable[t.Device]) -> tuple[str, ...]:
    return ("energise.inverter",) if any(isinstance(device, t.Inverter) for device in live) else ()


def _expected(fuse: t.Fuse, job: Job) -> str:
    """The amps that flow as soon as it is in, or why none flow yet and when they are read."""
    worst = worst_mode(job.ledger, fuse, "load-current")
    if worst is None or worst[1] < NOTHING:
        return ""
    if waits := _waits(fuse, job):
        return (
            f"Nothing yet: {waits}. {_amps(fuse, worst, job)} with all of it on; read when all fuses are in."
        )
    if not fed_by(fuse, job):
        return f"Next to nothing yet: it carries charge. {_amps(fuse, worst, job)}; read before the charge tests."
    parked = _parked(fuse, job)
    if parked is None:
        return f"Nothing yet: the engine is off. {_amps(fuse, worst, job)}; read with the engine running."
    most = "any mode" if parked[1] >= worst[1] else "any mode with the engine off"
    return f"Expect {_amps(fuse, parked, job)}, the most that {most} asks of it."


def _waits(fuse: t.Fuse, job: Job) -> str:
    """What stands between it and what it feeds: fuses that come later, contacts that are off."""
    if any(known(job.ledger, other, "upstream") is fuse for other in fuses_of(job)):
        return "the fuses behind it are out"
    off = contacts_behind(fuse, job) if depth(fuse, job) == 0 else ()
    return f"{listed(one.name for one in off)} {'is' if len(off) == 1 else 'are'} off" if off else ""


def _parked(fuse: t.Fuse, job: Job) -> tuple[t.Mode, float] | None:
    """The mode with the engine off in which it carries most; None where it carries nothing then."""
    modes = [mode for mode in job.installation.modes if mode.engine == "off"]
    carried = [(mode, known(job.ledger, fuse, "load-current", mode)) for mode in modes]
    found = [(mode, amps) for mode, amps in carried if amps and amps >= NOTHING]
    return max(found, key=lambda pair: pair[1], default=None)


def _amps(fuse: t.Fuse, at: tuple[t.Mode, float], job: Job) -> str:
    mode, amps = at
    says = f" ({mode.says})" if mode.says else ""
    return f"{shown(amps, 'A')} in mode {mode.name}{says}{turned_down(fuse, mode, job)}"


def _switch_on(job: Job, tell: Cautioner) -> Iterator[Step]:
    """Isolators and switches, when what is ahead of them is live and no fuse behind them is in."""
    for device in job.installation.devices:
        if isinstance(device, t.Contact) and device.kind in ("isolator", "switch") and not device.maker:
            live = behind_contact(device, job)
            yield step(
                f"on-{device.name}",
                f"Switch on {device.name}.",
                _live_now(live) if live else "Nothing may happen: no fuse behind it is in.",
                place=device.place.name,
                cautions=tell.before(*_stands(live)),
            )


def _live_now(live: Iterable[t.Device]) -> str:
    live = list(live)
    names = listed(f"{device.name} ({DEVICE_WORDS[device.kind]})" for device in live)
    it, its = ("it", "its") if len(live) == 1 else ("them", "their")
    return (
        f"{names}: no other fuse stands before {it}, live from this step on. Off at {its} own switch first; one spark is {its}"
        " input charging, a second a fault."
    )


def _all_on(order: list[t.Fuse], job: Job) -> Iterator[Step]:
    """The fuses that feed others, when all are in: mode by mode with the engine off."""
    found: dict[t.Mode, list[t.Fuse]] = {}
    for fuse in order:
        if fed_by(fuse, job) and _waits(fuse, job) and (parked := _parked(fuse, job)):
            found.setdefault(parked[0], []).append(fuse)
    if found:
        yield step(
            "fuses-all-on",
            "Switch on all that the mode says and read the fuses that feed others (E3).",
            *(_in_mode(mode, fuses, job) for mode, fuses in found.items()),
            person=TESTER,
        )


def with_engine(job: Job) -> Iterator[Step]:
    """The fuses that carry charge, and those that are live only with the engine; read before the tests of charging."""
    found: dict[t.Mode, list[t.Fuse]] = {}
    for fuse in fuses_of(job):
        worst = worst_mode(job.ledger, fuse, "load-current")
        alone = not fed_by(fuse, job) or _parked(fuse, job) is None
        if worst and worst[1] >= NOTHING and alone:
            found.setdefault(worst[0], []).append(fuse)
    plugs = _plugs(job)
    if found:
        yield step(
            "fuses-charging",
            "Read the fuses that carry charge, and those that are live only with the engine (E3).",
            f"Put {listed(plugs)} together first." if plugs else "",
            "Start the engine in the open air." if any(mode.engine == "running" for mode in found) else "",
            *(_in_mode(mode, fuses, job) for mode, fuses in found.items()),
            person=TESTER,
        )


def _in_mode(mode: t.Mode, fuses: Iterable[t.Fuse], job: Job) -> str:
    says = f" ({mode.says})" if mode.says else ""
    on = listed(at_level(each) for each in mode.on)
    told = listed(
        f"{fuse_name(fuse)} {shown(known(job.ledger, fuse, 'load-current', mode), 'A')}" for fuse in fuses
    )
    return ended(f"Mode {mode.name}{says}, on: {on}. Expect in {told}")


# ---------------------------------------------------------------- panels


def join_panels(job: Job) -> Section:
    """Each panel is measured at its open plug, then joined to a controller that has its battery."""
    tell = Cautioner(job)
    steps: list[Step] = []
    for trial in (one for one in trials(job) if one.id == PANELS):
        steps.append(_measured(trial, tell))
    for device in _panels(job):
        steps.append(
            step(
                f"join-{device.name}",
                f"Cover {device.name}, put its plug together, then uncover it.",
                "Its controller must show its battery before this; if it does not, stop and find out why.",
                "Read the amps into the battery with the clamp: the row of T30 that says charge.",
                place=device.place.name,
                cautions=tell.before("energise.solar"),
            )
        )
    says = "All fuses between the controller and its battery are in by now, and all that is switched there is on."
    return Section("Join the panels", says, tuple(steps), always=True)


def _measured(trial: Trial, tell: Cautioner) -> Step:
    return trial_step(
        trial, "All but the charge before the plug goes together.", cautions=tell.before("energise.solar")
    )
