"""Imports every module of facts, so that the registry is whole. One line a module."""
# ruff: noqa: F401

from __future__ import annotations

import loomwright.facts.fuse
import loomwright.facts.guard
import loomwright.facts.load
import loomwright.facts.run
import loomwright.facts.way
