"""The usual cautions, shown where they apply."""

from models.record import Record

GENERAL = (
    "A reading is not a repair decision: local law, the maker's service information and a licensed "
    "technician decide. Work under a vehicle only when it stands on stands that are rated for it."
)

_SAYINGS: tuple[tuple[str, str], ...] = (
    (
        "Coolant is hot and under pressure: let the engine cool down before the cap comes off.",
        "cooling_system radiator radiator_cap radiator_hose water_pump thermostat heater_core "
        "oil_cooler egr_cooler coolant",
    ),
    (
        "Brake dust may hold asbestos or other harmful fibres: wet it or draw it off, never blow it.",
        "brake_pad brake_rotor brake_drum brake_shoe brake_caliper parking_brake",
    ),
    (
        "Springs hold energy after the vehicle is lifted: secure them before loosening anything.",
        "coil_spring leaf_spring spring_shackle u_bolt control_arm ball_joint shock_absorber",
    ),
    (
        "Airbags hold energy: disconnect and wait as the maker says before working near the steering wheel.",
        "steering_wheel seat_motor",
    ),
    (
        "Batteries give off explosive gas and large currents: no sparks, no tools across the poles. High "
        "voltage systems are for people trained on them.",
        "battery alternator starter",
    ),
    (
        "Refrigerant is under pressure and freezes skin: wear eye protection and recover it as the law says.",
        "evaporator condenser ac_compressor ac_low_side ac_high_side",
    ),
)


def cautions(record: Record | None) -> tuple[str, ...]:
    """The general caution, and those for the parts in the record."""
    parts = {f.component for f in record.findings} if record else set()
    return (GENERAL, *(saying for saying, about in _SAYINGS if parts & set(about.split())))
