"""A comparison as one HTML page that needs nothing else."""

from __future__ import annotations

import os

from loomwright.review.compare import Comparison
from loomwright.review.story import CAUTION, story

TEMPLATES = os.path.join(os.path.dirname(os.path.abspath(__file__)), "templates")


def as_html(comparison: Comparison) -> str:
    """Every text is escaped; no request leaves the page and it has no script."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    page: str = environment.get_template("comparison.html.jinja").render(
        story=story(comparison), caution=CAUTION
    )
    return page
