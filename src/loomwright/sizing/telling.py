"""What `size` prints: a table of old and new with the rule that binds each, what it costs, and what to be careful of."""

from __future__ import annotations

import json

from loomwright.sizing.size import Row, Sized

CAUTION = (
    "Sized for the modes of the spec and no others. A licensed electrician and the local code have the last word;"
    " check the spec, and fit nothing that a finding speaks against."
)


def text(sized: Sized) -> str:
    """For reading."""
    lines = [f"{sized.path}: {sized.title}", ""]
    if not sized.rows:
        return "\n".join(
            [*lines, "Nothing here says auto. 'size --all' sizes all that the workshop fits.", ""]
        )
    table = [("", "now", "to", "what keeps it from being smaller"), *map(_cells, sized.rows)]
    widths = [max(len(row[column]) for row in table) for column in range(3)]
    for row in table:
        cells = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=False))
        lines.append(f"    {cells}  {row[3]}".rstrip())
    lines += ["", *_totals(sized), _proof(sized)]
    for finding, relaxing in zip(sized.standing, sized.relaxing, strict=True):
        lines.append(f"No size mends: {finding.message} [{finding.rule}]")
        lines += [f"    {relaxing}"] if relaxing else []
    return "\n".join([*lines, CAUTION, ""])


def _cells(row: Row) -> tuple[str, str, str, str]:
    return f"{row.owner} {row.what}", row.old or "auto", row.new, row.binding.text


def _totals(sized: Sized) -> list[str]:
    old = _old(sized)
    copper = (
        f"Copper {sized.copper_kg:.2f} kg"
        if old is None
        else f"Copper {old[1]:.2f} kg → {sized.copper_kg:.2f} kg"
    )
    cost = f"cost {sized.cost:.2f}" if old is None else f"cost {old[0]:.2f} → {sized.cost:.2f}"
    listed = sum(row.listed for row in sized.rows)
    priced = (
        f"{sized.prices}, which prices {listed} of {len(sized.rows)} choices; the others at invented prices"
    )
    source = sized.prices if listed in (0, len(sized.rows)) else priced
    return [f"{copper}; {cost} ({source})."]


def _old(sized: Sized) -> tuple[float, float] | None:
    """Cost and copper before, where everything had a size that is in stock."""
    cost = [row.old_cost for row in sized.rows]
    copper = [row.old_copper_kg for row in sized.rows]
    if None in cost or None in copper:
        return None
    return sum(each or 0.0 for each in cost), sum(each or 0.0 for each in copper)


def _proof(sized: Sized) -> str:
    if sized.proven:
        return "No cheaper choice of sizes holds the rules at these currents and ratings (proven); the ratings are the smallest that hold, loads of low duty in full."
    return "Some sizes were found by trial: no single size can be a step smaller without breaking a rule."


def as_json(sized: Sized) -> str:
    """Version 1."""
    rows = [
        {
            "what": row.what,
            "of": row.owner,
            "old": row.old,
            "new": row.new,
            "binding": {"rule": row.binding.rule, "about": row.binding.about, "text": row.binding.words},
            "cost": round(row.cost, 4),
            "old_cost": None if row.old_cost is None else round(row.old_cost, 4),
            "copper_kg": round(row.copper_kg, 6),
            "priced": row.listed,
        }
        for row in sized.rows
    ]
    old = _old(sized)
    whole = {
        "version": 1,
        "file": sized.path,
        "title": sized.title,
        "sizes": rows,
        "cost": round(sized.cost, 4),
        "old_cost": None if old is None else round(old[0], 4),
        "copper_kg": round(sized.copper_kg, 6),
        "old_copper_kg": None if old is None else round(old[1], 6),
        "prices": sized.prices,
        "proven": sized.proven,
        "choices_judged": sized.judged,
        "standing": [
            {"rule": each.rule, "things": list(each.things), "message": each.message, "relax": relaxing}
            for each, relaxing in zip(sized.standing, sized.relaxing, strict=True)
        ],
    }
    return json.dumps(whole, ensure_ascii=False, indent=2) + "\n"


FORMS = {"text": text, "json": as_json}
