"""After the cables: inspect, test dead, test live, hand over."""

from __future__ import annotations

from loomwright.record import replace
from loomwright.sheets.job import Job
from loomwright.sheets.order.joining import DONE, with_engine
from loomwright.sheets.order.section import Cautioner, Section, step, trial_step
from loomwright.sheets.readings import CHARGE, DEAD, LIVE, SOAK, trials

LOOK = ("T1", "T9", "T10", "T11", "T12", "T14", "T15")
"""The dead tests that are made by eye and hand."""


def inspect(job: Job) -> Section:
    """What is looked at and pulled before anything is measured."""
    steps = (trial_step(one) for one in trials(job) if one.id in LOOK)
    says = "By somebody who did not do the work, where there is one. The numbers are those of the commissioning record."
    return Section("Inspect", says, tuple(steps))


def test_dead(job: Job) -> Section:
    steps = (trial_step(one) for one in trials(job) if one.section == DEAD and one.id not in LOOK)
    says = "All fuses out, all loads unplugged, no battery joined. Write every reading into the commissioning record."
    return Section("Test dead", says, tuple(steps))


# ---------------------------------------------------------------- live, hand over


def test_live(job: Job) -> Section:
    tell = Cautioner(job)
    made = [one for one in trials(job) if one.section in LIVE and one.id not in DONE]
    standing = [trial_step(one) for one in made if one.section != CHARGE]
    charging = [trial_step(one) for one in made if one.section == CHARGE]
    steps = [*standing, *with_engine(job), *charging]
    if steps:
        steps[0] = replace(steps[0], cautions=tell.before("live"))
    says = (
        "Write every reading into the commissioning record: it has the predicted value and the limit of each."
    )
    return Section("Test live", says, tuple(steps))


def hand_over(job: Job) -> Section:
    tell = Cautioner(job)
    steps = [
        *(trial_step(one) for one in trials(job) if one.section == SOAK),
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
