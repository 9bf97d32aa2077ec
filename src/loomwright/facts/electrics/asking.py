"""What the facts of a mode ask of its solved state, each answer with what it rests on."""

from __future__ import annotations

from loomwright.facts.electrics.solve import State, solved
from loomwright.facts.electrics.wiring import node_of, run_key
from loomwright.facts.registry import Ledger, Missing
from loomwright.model import things as t
from loomwright.source import Span

METHOD = "Kirchhoff's laws, Newton's method on the nodal equations"


def plain_state(mode: t.Mode, ledger: Ledger) -> State:
    """The mode as solved. Raises Missing where nothing can be said of the mode."""
    state = solved(mode, ledger)
    if state.missing:
        raise Missing(*state.missing)
    return state


def state_of(mode: t.Mode, ledger: Ledger) -> State:
    """The same, noted as a step of the derivation."""
    state = plain_state(mode, ledger)
    ledger.note(f"network of mode {mode.name} solved", METHOD, mode.span)
    for name in state.assumed:
        ledger.note(f"{name} counted with its nominal current: its cable is not known", "assumption")
    for name in state.starved:
        ledger.note(f"{name} left out: the network can't give what it asks", METHOD)
    return state


def volts_at(name: str, span: Span, mode: t.Mode, ledger: Ledger) -> float:
    """Volts of a node. Raises Missing where nothing ties it to a source."""
    state = plain_state(mode, ledger)
    if name in state.volts:
        return state.volts[name]
    raise Missing(
        *(state.beyond(name) or [t.Unknown(f"what ties {name} to a source in mode {mode.name}", span)])
    )


def volts_between(device: t.Device, pos: str, neg: str, mode: t.Mode, ledger: Ledger) -> float:
    """Volts between two terminals of a device, by their labels."""
    state_of(mode, ledger)
    high, low = (volts_at(node_at(device, label, ledger), device.span, mode, ledger) for label in (pos, neg))
    return high - low


def node_at(device: t.Device, label: str, ledger: Ledger) -> str:
    terminal = ledger.installation.terminals.get(f"{device.name}.{label}")
    return node_of(terminal) if terminal else f"{device.name}.{label}"


def amps_through(name: str, mode: t.Mode, ledger: Ledger) -> float:
    """Amperes through an element, signed as the network has them; 0 through what is not part of a live circuit.

    Raises Missing where the current depends on a cable that nobody knows.
    """
    state = state_of(mode, ledger)
    if name in state.amps:
        return state.amps[name]
    why = state.unknown_links.get(name) or state.omitted.get(name)
    if why:
        raise Missing(*why)
    return 0.0


def run_amps(run: t.Run, mode: t.Mode, ledger: Ledger) -> float:
    """Amperes through a run from its start to its end."""
    return amps_through(run_key(run), mode, ledger)


def source_amps(name: str, mode: t.Mode, ledger: Ledger) -> float:
    """Amperes that a source gives; a battery that is charged gives a negative current."""
    state = state_of(mode, ledger)
    return state.amps.get(name, 0.0) + state.amps.get(f"{name} tail", 0.0)
