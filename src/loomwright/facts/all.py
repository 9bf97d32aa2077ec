"""Imports every module of facts, so that the registry is whole. One line a module."""
# ruff: noqa: F401

from __future__ import annotations

import loomwright.facts.battery
import loomwright.facts.charger
import loomwright.facts.clearing
import loomwright.facts.connection
import loomwright.facts.duty
import loomwright.facts.earth
import loomwright.facts.electrics.register
import loomwright.facts.end
import loomwright.facts.energy
import loomwright.facts.feeder
import loomwright.facts.fuse
import loomwright.facts.guard
import loomwright.facts.inverter
import loomwright.facts.laying
import loomwright.facts.load
import loomwright.facts.losses
import loomwright.facts.paper
import loomwright.facts.place
import loomwright.facts.readings
import loomwright.facts.remedy
import loomwright.facts.run
import loomwright.facts.sky
import loomwright.facts.solar
import loomwright.facts.stretch
import loomwright.facts.switching
import loomwright.facts.terminal
import loomwright.facts.use
import loomwright.facts.way
