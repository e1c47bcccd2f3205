"""Transcript -> spoken findings: numbers, units, parts, places, conditions, actions."""

VERSION = "24"
