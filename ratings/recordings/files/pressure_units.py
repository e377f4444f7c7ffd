"""Units of sound pressure as measurement files write them."""

_PA_BY_UNIT = {
    "Pa": 1.0,
    "pa": 1.0,
    "PA": 1.0,
    "Pascal": 1.0,
    "pascal": 1.0,
    "PASCAL": 1.0,
    "Pascals": 1.0,
    "pascals": 1.0,
    "N/m^2": 1.0,
    "N/m**2": 1.0,
    "N/m2": 1.0,
    "N/m²": 1.0,
    "hPa": 1e2,
    "kPa": 1e3,
    "MPa": 1e6,
    "mPa": 1e-3,
    "uPa": 1e-6,
    "µPa": 1e-6,  # micro sign
    "μPa": 1e-6,  # Greek letter
}


def pa_per_unit(unit: str | None) -> float | None:
    """Give the pascal in one of a unit; None when it is no unit of pressure, or not known."""
    return None if unit is None else _PA_BY_UNIT.get(unit.strip())
