"""The README shows what really comes out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.cli import COMMANDS, commands


def block(checkout: Path, name: str) -> str:
    """The code block after `<!-- name -->`."""
    found = re.search(rf"<!-- {name} -->\n```\w*\n(.*?)```", (checkout / "README.md").read_text(), re.DOTALL)
    assert found is not None
    return found.group(1)


def output(*words: str) -> str:
    return CliRunner().invoke(commands, [*words]).output


def test_the_output_shown_is_the_output(in_checkout: Path) -> None:
    words = block(in_checkout, "run").split("&& loomwright ")[1].split()
    real = output(*words)
    for part in block(in_checkout, "output").split("…\n"):
        assert part.strip() in real


def test_the_derivation_shown_is_the_derivation(in_checkout: Path) -> None:
    real = output("explain", "run.carries", "specs/orchard-bees/planned.fitout", "main")
    assert block(in_checkout, "explain").strip() == real.strip()


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_table(command: str, checkout: Path) -> None:
    assert re.search(rf"^\| `{command}\b", (checkout / "README.md").read_text(), re.MULTILINE)


def test_every_link_leads_somewhere(checkout: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", (checkout / "README.md").read_text()):
        assert (checkout / target).exists(), target
