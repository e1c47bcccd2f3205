"""Gauge displays in photos, and printed plates."""
