"""What the manual knows beside the rules agrees with the rules."""

from __future__ import annotations

import pytest

from loomwright.manual.classes import can_be_dangerous
from loomwright.manual.data import judgements, sights, titles
from loomwright.manual.index import document_of
from loomwright.manual.markdown import ManualError
from loomwright.report.explain import otherwise
from loomwright.rulebook.load import load_rules

BOOK = load_rules()
NAMES = {rule.name for rule in BOOK}


def test_what_an_inspector_sees_leads_to_rules_that_there_are() -> None:
    named = {name for sight in sights() for name in sight.rules}
    assert named - NAMES == set()
    assert len(sights()) >= 20
    assert all(sight.rules and sight.seen and sight.look for sight in sights())


def test_the_class_of_every_rule_that_can_be_dangerous_is_answered_for() -> None:
    dangerous = {rule.name for rule in BOOK if can_be_dangerous(rule.severity, otherwise(rule))}
    assert set(judgements()) == dangerous
    assert all(judgement.why.endswith(".") for judgement in judgements().values())


def test_only_item_4_11_a_makes_anything_dangerous_by_the_directive_s_own_words() -> None:
    """Directive 2014/45/EU Annex I (from memory): of 4.11 and 4.13, (a) of the first is what these rules can meet."""
    by_item = {judgement.rule: judgement.item for judgement in judgements().values() if judgement.item}
    assert set(by_item.values()) == {"4.11(a)"}
    assert set(by_item) == {"wheel-proximity", "moving-part-proximity", "heat-proximity"}


def test_every_source_belongs_to_a_document_that_is_named() -> None:
    for rule in BOOK:
        for source in rule.sources:
            assert document_of(source)
    assert document_of("33 CFR 183.455(a)").startswith("33 CFR 183: ")
    with pytest.raises(ManualError, match="no document is known"):
        document_of("somebody's leaflet")


def test_no_document_is_named_by_an_address() -> None:
    assert not any("://" in text or "www." in text for pair in titles().items() for text in pair)
