"""Prints what Pint makes of torques, a line each: unit, amount, newton metres. Run by tests/outside/units.cpp."""

import pint

UNITS = {
    "N·m": "newton * meter",
    "lbf·ft": "force_pound * foot",
    "lbf·in": "force_pound * inch",
    "kgf·m": "force_kilogram * meter",
    "kgf·cm": "force_kilogram * centimeter",
}

registry = pint.UnitRegistry()
print("pint", pint.__version__)
for sign, name in UNITS.items():
    for amount in ("0.35", "1", "9.5", "47", "64", "180", "1234.5"):
        newton_metres = registry.Quantity(float(amount), name).to("newton * meter").magnitude
        print(sign, amount, repr(newton_metres))
