"""What a shop may change, as package data: vocabulary, limits, plans, gauges, settings."""
