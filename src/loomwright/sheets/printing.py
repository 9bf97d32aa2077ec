"""Papers as files: which there are of each format, and how they reach the disk whole or not at all."""

from __future__ import annotations

import csv
import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from importlib import import_module

from loomwright import whole
from loomwright.sheets import render
from loomwright.sheets.document import Papers
from loomwright.sheets.job import Job
from loomwright.sheets.papers import papers

FORMATS = ("html", "pdf", "markdown", "csv")
ENDINGS = {"html": ".html", "pdf": ".pdf", "markdown": ".md"}
LISTS = {
    "parts": ("-parts.csv", "loomwright.sheets.parts"),
    "cut-list": ("-cuts.csv", "loomwright.sheets.cut_list"),
}
"""The sheets that are printed as CSV too: the ending of each one's file, and its module, which has `csv(job) -> str`."""


class NotWritten(Exception):
    """The papers can't be written; one sentence says why. Nothing was changed on disk."""


def files_of(job: Job, formats: Collection[str], only: Collection[str] = ()) -> dict[str, bytes]:
    """The files of a job by name. Raises NotWritten where a format is missing its library or has nothing to hold."""
    stem = "spec" if job.path.startswith("<") else os.path.splitext(os.path.basename(job.path))[0]
    files: dict[str, bytes] = {}
    if bound_forms := [form for form in FORMATS if form in formats and form != "csv"]:
        bound = papers(job, only)
        if not bound.sheets:
            raise NotWritten(
                f"{job.path} has nothing to say on {' and '.join(sorted(only))}: no file was written"
            )
        files |= {stem + ENDINGS[form]: content for form, content in _bound(bound_forms, bound)}
    if "csv" in formats:
        files |= {stem + ending: content for ending, content in _lists(job, only)}
    return files


def _bound(forms: Sequence[str], bound: Papers) -> Iterator[tuple[str, bytes]]:
    """The papers in each form. The typesetter works beside the others: it takes the longest, and leaves Python to them."""
    with ThreadPoolExecutor(1) as beside:
        typeset = beside.submit(render.pdf, bound) if "pdf" in forms else None
        texts = {form: _text(form, bound) for form in forms if form != "pdf"}
        for form in forms:
            try:
                yield form, typeset.result() if typeset and form == "pdf" else texts[form]
            except render.NoTypesetter as missing:
                raise NotWritten(str(missing)) from None


def _text(form: str, bound: Papers) -> bytes:
    return (render.html(bound) if form == "html" else render.markdown(bound)).encode()


def _lists(job: Job, only: Collection[str]) -> Iterable[tuple[str, bytes]]:
    """The CSV lists that are wanted."""
    wanted = [name for name in LISTS if not only or name in only]
    if not wanted:
        raise NotWritten(f"only {' and '.join(LISTS)} are lists that CSV can hold")
    for name in wanted:
        ending, module = LISTS[name]
        yield ending, import_module(module).csv(job).encode()


def write_whole(
    folder: str, files: Mapping[str, bytes], sources: Iterable[str] = (), spec: str | None = None
) -> list[str]:
    """Write all files into a folder (made where it is missing) or none; the paths that were written.

    Raises NotWritten for a folder that can't be written to, for a file that would replace one of `sources`, a folder or what a
    link elsewhere names, and, where `spec` is told, for a file that is not an earlier printing of that spec.
    """
    targets = {os.path.join(folder, name): content for name, content in files.items()}
    _refuse_loss(targets, sources)
    _refuse_others(targets, folder, spec)
    try:
        os.makedirs(folder, exist_ok=True)
        whole.write_all(targets)
    except OSError as error:
        raise NotWritten(f"nothing was written to {folder}: {_reason(error)}") from None
    return list(targets)


def _refuse_loss(targets: Iterable[str], sources: Iterable[str]) -> None:
    kept = {os.path.realpath(source) for source in sources if os.path.exists(source)}
    for target in targets:
        if os.path.isdir(target):
            raise NotWritten(f"nothing was written: {target} is a folder")
        if os.path.realpath(target) in kept:
            raise NotWritten(
                f"nothing was written: {target} is the spec itself; choose another folder with -o"
            )


def _refuse_others(targets: Iterable[str], folder: str, spec: str | None) -> None:
    within = os.path.realpath(folder)
    for target in targets:
        if os.path.dirname(os.path.realpath(target)) != within:
            raise NotWritten(f"nothing was written: {target} is a link to a file outside of {folder}")
        if spec is not None and os.path.isfile(target) and not _is_of(target, spec):
            raise NotWritten(
                f"nothing was written: {target} is there already, and is no printing of {spec}; move it away, or choose another"
                " folder with -o"
            )


def _is_of(path: str, spec: str) -> bool:
    """Whether a file is an earlier printing of a spec: marked so, or a list of that spec only."""
    try:
        with open(path, "rb") as file:
            content = file.read()
    except OSError:
        return False
    if render.mark_of(spec).encode() in content:
        return True
    if not path.endswith(".csv"):
        return False
    head, *rows = content.decode(errors="replace").splitlines() or [""]
    heads = {",".join(import_module(module).HEAD) for _, module in LISTS.values()}
    names = {spec, f"'{spec}"}
    return head in heads and all(row[-1] in names for row in csv.reader(rows) if row)


def _reason(error: OSError) -> str:
    if isinstance(error, (FileExistsError, NotADirectoryError)):
        return "it is a file, or lies in one, and not a folder"
    if isinstance(error, PermissionError):
        return "writing there is not permitted"
    return whole.reason(error)
