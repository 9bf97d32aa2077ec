"""`python -m loomwright.manual docs`: writes every page of the manual that is not as it would be made now."""

from __future__ import annotations

import sys

from loomwright.manual.pages import UNREADABLE, stale, write

USAGE = "usage: python -m loomwright.manual [--check] FOLDER"


def main(arguments: list[str]) -> int:
    """With `--check` nothing is written, and the status is 1 where a page is stale."""
    check = arguments[:1] == ["--check"]
    folders = arguments[1:] if check else arguments
    if len(folders) != 1 or folders[0].startswith("-"):
        print(USAGE, file=sys.stderr)
        return 2
    try:
        changed = stale(folders[0])
        if not check:
            write(folders[0], changed)
    except UNREADABLE as error:
        print(f"the manual in {folders[0]} can't be made: {error}", file=sys.stderr)
        return 2
    for path in changed:
        print(f"{folders[0]}/{path}{' is stale' if check else ''}")
    return 1 if check and changed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
