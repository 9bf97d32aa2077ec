"""The tables of the fit-out language, from the table of forms and the grammar."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from loomwright.manual.markdown import code, table
from loomwright.quantity import DIMENSIONS, FACTORS, show
from loomwright.rulebook.load import Rulebook
from loomwright.syntax.forms import CLAUSES, DAY, DEVICE, DEVICES, RUNS, STATEMENTS, USUAL, Form, Forms
from loomwright.syntax.parse import tables

HEADS = ("form", "for example", "what it says")
NOT_LISTED = frozenset(("device", "run", "bundle"))  # lists that the tables of statements give already


def regions(_book: Rulebook) -> Mapping[str, str]:
    return {
        "statements": _statements(),
        "devices": _devices(),
        "runs": _clauses(CLAUSES["circuit"].values()),
        "other-clauses": _others(),
        "words": _words(),
        "units": _units(),
    }


def _statements() -> str:
    heads = (head for kind, head in STATEMENTS.items() if kind not in DEVICES)
    return table(HEADS, ((code(head.form), code(head.example), head.meaning) for head in heads))


def _devices() -> str:
    """What every device takes, then for each kind its terminals and what it takes besides."""
    parts = ["### Every device", _clauses(DEVICE.values())]
    for kind in DEVICES:
        own = [form for keyword, form in CLAUSES[kind].items() if form is not DEVICE.get(keyword)]
        head = STATEMENTS[kind]
        parts += [f"### {kind}", f"{head.meaning} For example {code(head.example)}."]
        parts += [_clauses(own)] if own else []
    return "\n\n".join(part.strip("\n") for part in parts)


def _others() -> str:
    kinds = [kind for kind in CLAUSES if kind not in (*DEVICES, *RUNS, "practice")]
    parts = []
    for kind in kinds:
        forms: Iterable[Form] = (DAY,) if kind == "day" else CLAUSES[kind].values()
        parts += [f"### {kind}", _clauses(forms)]
    return "\n\n".join(part.strip("\n") for part in parts)


def _clauses(forms: Iterable[Form]) -> str:
    listed = list(forms)
    groups = _groups({form.keyword: form for form in listed})
    rows = (
        (
            code(form.form),
            code(form.example),
            f"{form.meaning}{_how_often(form, groups)}{_never_unknown(form)}",
        )
        for form in listed
    )
    return table(HEADS, rows)


def _groups(forms: Forms) -> Mapping[str, list[str]]:
    """The words that exclude one another, by what they say together."""
    groups: dict[str, list[str]] = {}
    for form in forms.values():
        if form.group:
            groups.setdefault(form.group, []).append(form.keyword)
    return groups


def _how_often(form: Form, groups: Mapping[str, list[str]]) -> str:
    """What the table adds to the meaning of a clause: how often it may stand, and beside what."""
    if form.many == "*":
        return " May stand more than once."
    if form.many:
        return f" Once for each {_told_apart(form.many)}."
    if form.group:
        others = [word for word in groups[form.group] if word != form.keyword]
        return f" Excludes {' and '.join(map(code, others))}."
    return ""


def _never_unknown(form: Form) -> str:
    return " Never `unknown`." if form.settled else ""


def _told_apart(part: str) -> str:
    return {"in": "place, and once for all others", "to": "hazard"}.get(part, part)


def _words() -> str:
    lists = tables().lists
    rows = (
        (name.replace("_", "-"), ", ".join(map(code, lists[name])))
        for name in lists
        if len(lists[name]) > 1 and name not in NOT_LISTED
    )
    return table(("list", "words"), rows)


def _units() -> str:
    return table(("quantity", "units", "what makes sense where nothing narrower is said"), _unit_rows())


def _unit_rows() -> Iterator[tuple[str, str, str]]:
    for name, usual in USUAL.items():
        units = FACTORS.get(name) or ("degC", "°C", "celsius", "K")
        more = "above" if not usual.closed else "from"
        noun = DIMENSIONS[name].noun.removeprefix("a ").removeprefix("an ")
        limits = f"{more} {show(usual.least, name)} up to {show(usual.most, name)}"
        yield noun, ", ".join(map(code, units)), limits
