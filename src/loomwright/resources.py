"""Where the project's own files are: grammars, rule book, templates.

In an installed wheel they lie inside the package; in a checkout they lie at its top. Both are found here.
"""

from __future__ import annotations

import os

PACKAGE = os.path.dirname(os.path.abspath(__file__))
INSTALLED = os.path.join(PACKAGE, "resources")
CHECKOUT = os.path.dirname(os.path.dirname(PACKAGE))


def folder(name: str) -> str:
    """The folder `grammar` or `rules`. Raises FileNotFoundError when the installation lacks it."""
    for root in (INSTALLED, CHECKOUT):
        path = os.path.join(root, name)
        if os.path.isdir(path):
            return path
    raise FileNotFoundError(f"this installation of loomwright has no {name}/ folder: install it again")


def text(name: str, *parts: str) -> str:
    """The text of one file of such a folder."""
    with open(os.path.join(folder(name), *parts), encoding="utf-8") as file:
        return file.read()
