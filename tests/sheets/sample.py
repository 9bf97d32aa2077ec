"""A small set of papers with every kind of block, and with text that is markup in some language or other."""

from __future__ import annotations

from loomwright.sheets.document import (
    Blank,
    Caution,
    Column,
    Facts,
    Figure,
    Heading,
    Note,
    PageBreak,
    Papers,
    Paragraph,
    Piece,
    Revision,
    Row,
    Sheet,
    Signature,
    Step,
    Steps,
    Swatch,
    Table,
    Tick,
    run_name,
)

NASTY = '<script>alert("x")</script> & "quotes" #let $x$ \\back\\ `tick` *star* [link] | שלום 🔧 16 mm²'
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20" width="40" height="20" role="img">'
    "<title>A fuse</title><desc>A box on a line</desc>"
    '<path d="M0 10h40" stroke="#000"/><rect x="10" y="6" width="20" height="8" fill="none" stroke="#000"/></svg>'
)


def papers(user_text: str = "Orchard van") -> Papers:
    table = Table(
        "Runs",
        (
            Column("Run"),
            Column("Length", "m", number=True),
            Column("Sleeve"),
            Column("Reading", "V"),
            Column("Done"),
        ),
        (
            Row(
                (run_name("main"), "5.1", Swatch("black/red"), Blank("V"), Tick("main-laid")),
                run="main",
                place="toolbox",
            ),
            Row((user_text, "0.6", "none", Blank(), Tick("x", "laid")), place="engine-bay", strong=True),
        ),
    )
    steps = Steps(
        (
            Step(
                "isolate",
                "Take the earth lead off first.",
                ("Prove dead with a meter.",),
                (Caution("W2", "Earth lead first.", "common practice, no source"),),
                person="fitter",
            ),
            Step(
                "lay-main",
                (Piece("Lay "), Piece("main", run="main")),
                place="toolbox",
                person="apprentice",
                run="main",
            ),
        ),
        first=4,
    )
    blocks = (
        Facts((("Customer", user_text), ("Stage", "planned"))),
        Heading("What to do"),
        Paragraph((Piece(user_text), Piece(" and more", strong=True))),
        Note(user_text),
        Caution("W3", user_text, "common practice, no source"),
        table,
        Table("Spares", (Column("Part"),), ()),
        steps,
        Figure("A fuse", user_text, SVG),
        PageBreak(),
        Signature(("Fitted by", user_text)),
    )
    revision = Revision("specs/van.fitout", "3f9a", "abc1234", False, "2026-11-18")
    sheets = (
        Sheet("cover", "Cover", "everyone", blocks),
        Sheet("figures", "Electrical figures", "reviewer", (table,), landscape=True),
    )
    return Papers(user_text, "2026-118", "flatbed", user_text, "planned", revision, sheets)


__all__ = ["NASTY", "SVG", "papers"]
