"""What kind of quantity each measure of the vocabulary is."""

DIMENSIONS: dict[str, str] = {
    "thickness": "length",
    "thickness_variation": "length",
    "runout": "length",
    "axial_play": "length",
    "radial_play": "length",
    "end_play": "length",
    "play": "length",
    "free_play": "length",
    "tread_depth": "length",
    "stroke": "length",
    "length": "length",
    "diagonal": "length",
    "inside_diameter": "length",
    "camber": "angle",
    "toe": "angle",
    "caster": "angle",
    "pressure": "pressure",
    "pressure_after_hold": "pressure",
    "hold_time": "time",
    "temperature": "temperature",
    "temperature_split": "temperature_difference",
    "freeze_point": "temperature",
    "boiling_point": "temperature",
    "moisture": "fraction",
    "voltage": "voltage",
    "charging_voltage": "voltage",
    "voltage_drop": "voltage",
    "current": "current",
    "cold_cranking_current": "current",
    "resistance": "resistance",
    "torque": "torque",
    "odometer": "distance",
    "engine_hours": "time",
    "age": "age",
}

DIFFERENCES = frozenset(m for m, kind in DIMENSIONS.items() if kind == "temperature_difference")

# What a display shows when nobody said of what: the measure that says no more than its unit does.
GENERAL = {
    "length": "length",
    "pressure": "pressure",
    "temperature": "temperature",
    "voltage": "voltage",
    "current": "current",
    "resistance": "resistance",
    "torque": "torque",
    "distance": "odometer",
}
