"""`tidy`: specs in their one layout, written back, compared, or only asked after."""

from __future__ import annotations

from collections.abc import Iterable

from loomwright import whole
from loomwright.record import Record
from loomwright.report.files import Unreadable, read_spec
from loomwright.source import Problem
from loomwright.syntax.tidy import Untidy, tidy


class Tidied(Record):
    """One spec before and after; `problems` are why it could not be laid out."""

    path: str
    before: str
    after: str
    problems: tuple[Problem, ...] = ()

    @property
    def changed(self) -> bool:
        return self.before != self.after

    @property
    def difference(self) -> str:
        """What would change, as a unified diff; a line end that changes is told in words, for it can't be seen."""
        import difflib

        if self.changed and self.before.splitlines() == self.after.splitlines():
            return f"{self.path}: its lines end in different ways, and all would end as the first does\n"

        rows = difflib.unified_diff(
            self.before.splitlines(),
            self.after.splitlines(),
            self.path,
            f"{self.path} (tidy)",
            lineterm="",
            n=2,
        )
        return "".join(f"{row}\n" for row in rows)


def tidied(path: str) -> Tidied:
    """Raises Unreadable for what is no text."""
    text = read_spec(path)
    try:
        return Tidied(path, text, tidy(text, path))
    except Untidy as untidy:
        return Tidied(path, text, text, untidy.problems)


def write_back(specs: Iterable[Tidied]) -> None:
    """Write all that changed, all or none. Raises Unreadable."""
    changed = {spec.path: spec.after.encode() for spec in specs if spec.changed}
    try:
        whole.write_all(changed)
    except OSError as error:
        raise Unreadable(f"nothing was written: {whole.reason(error)}") from None
