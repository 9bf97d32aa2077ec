"""A comparison in the form that was asked for."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.review.compare import Comparison, Costs, compare
from loomwright.review.measures import STEPS
from loomwright.review.sides import Side


def told(
    old: Side, new: Side, form: str = "text", every_figure: bool = False, cost: Costs = (None, None)
) -> str:
    """Two specs compared, as `text`, `markdown`, `json` or `html`."""
    steps = dict.fromkeys(STEPS, (0.0, 0.0)) if every_figure else STEPS
    return _form(form)(compare(old, new, steps, cost))


def _form(name: str) -> Callable[[Comparison], str]:
    if name == "json":
        from loomwright.review.machine import as_json

        return as_json
    if name == "html":
        from loomwright.review.page import as_html

        return as_html
    from loomwright.review import text

    return text.as_markdown if name == "markdown" else text.as_text
