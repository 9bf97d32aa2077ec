"""Facts of contacts: isolators, switches and relays, and what passes through them."""

from __future__ import annotations

from loomwright.facts.attribute import attributes, gather
from loomwright.facts.registry import Ledger, fact
from loomwright.model import things as t

for _kind in ("isolator", "switch", "relay"):
    attributes(
        _kind, ("rated", "current", "What its contacts carry for long.", lambda contact: contact.rated)
    )

    @fact(
        _kind,
        "passes",
        "current",
        "The current through it in a mode: that of the runs on one side of it.",
        takes=("thing mode",),
    )
    def passes(contact: t.Contact | t.Relay, ledger: Ledger, mode: t.Mode) -> float:
        """The sides carry the same; where several runs meet on one, the lesser sum is nearer the truth."""
        sides = (_landing(contact, ("in",), ledger), _landing(contact, ("out", "rest"), ledger))
        if not all(sides):
            return 0.0
        return float(min(sum(gather(lambda run: ledger.get(run, "current", mode), runs)) for runs in sides))


def _landing(contact: t.Device, labels: tuple[str, ...], ledger: Ledger) -> tuple[t.Run, ...]:
    installation = ledger.installation
    terminals = [
        installation.terminals[f"{contact.name}.{label}"]
        for label in labels
        if f"{contact.name}.{label}" in installation.terminals
    ]
    return tuple(end.run for each in terminals for end in installation.landing_on.get(each, ()))
