"""Imports the modules that register facts of the solved network."""
# ruff: noqa: F401

from __future__ import annotations

import loomwright.facts.electrics.of_faults
import loomwright.facts.electrics.of_loads
import loomwright.facts.electrics.of_runs
import loomwright.facts.electrics.of_sources
