"""The table of forms, the grammar and the examples name the same statements and clauses."""

from __future__ import annotations

import logging

import pytest

from loomwright import resources
from loomwright.quantity import DIMENSIONS
from loomwright.syntax.forms import CLAUSES, DEVICES, RUNS, STATEMENTS, USUAL, block
from loomwright.syntax.parse import tables

from .saying import clause, head, sound


def test_grammar_and_forms_name_the_same_statements() -> None:
    assert {word for rule, word in tables().words if rule == "statement"} == set(STATEMENTS)
    assert tables().lists["device"] == DEVICES
    assert tables().lists["run"] == RUNS


@pytest.mark.parametrize("kind", [kind for kind in CLAUSES if kind != "day"])
def test_grammar_and_forms_name_the_same_clauses(kind: str) -> None:
    assert {word for rule, word in tables().words if rule == block(kind)} == set(CLAUSES[kind])


def test_every_block_of_the_grammar_belongs_to_a_statement() -> None:
    assert set(tables().starts) == {block(kind) for kind in CLAUSES} | {"statement"}
    assert set(CLAUSES) == set(STATEMENTS) - {"include", "part"}


@pytest.mark.parametrize("kind", CLAUSES)
def test_every_example_is_sound_and_holds_the_words_of_its_form(kind: str) -> None:
    for form in CLAUSES[kind].values():
        assert clause(kind, form.example).keyword.text == form.keyword
        assert form.meaning.endswith(".")


@pytest.mark.parametrize("kind", STATEMENTS)
def test_every_example_of_a_statement_is_sound(kind: str) -> None:
    (statement,) = sound(STATEMENTS[kind].example)
    assert statement.kind.text == kind
    assert STATEMENTS[kind].form.startswith(kind)


def test_the_words_of_a_form_are_the_words_of_the_grammar() -> None:
    """Small words of a printed form are keywords of that clause; no closed list is printed in part."""
    for kind, forms in CLAUSES.items():
        for form in forms.values():
            known = tables().words[block(kind), form.keyword]
            for group in form.form.replace("[", " ").replace("]", " ").split()[1:]:
                for word in group.strip(",").split("|"):
                    assert not word.islower() or word in known, (kind, form.form, word)


def test_every_dimension_that_is_written_has_a_usual_range() -> None:
    for dimension, usual in USUAL.items():
        assert dimension in DIMENSIONS
        assert usual.least < usual.most


def test_the_grammar_is_without_conflicts(
    caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lark settles a conflict silently by shifting; a reference must not need that."""
    import lark

    from loomwright.syntax import tables as making

    monkeypatch.setattr(lark.logger, "level", logging.DEBUG)
    caplog.set_level(logging.DEBUG, logger=lark.logger.name)
    lark.logger.addHandler(caplog.handler)
    try:
        made = making._make(resources.text("grammar", "fitout.lark"))
    finally:
        lark.logger.removeHandler(caplog.handler)
    assert [record.getMessage() for record in caplog.records if "onflict" in record.getMessage()] == []
    assert len(made[0]) == len(tables().rows)  # lark numbers the states as it likes


def test_heads_of_the_tests_are_sound() -> None:
    for kind in CLAUSES:
        assert sound(head(kind))
