"""All registers, found by looking in this folder: a register is one file with a `REGISTER`, and its test."""

from importlib import import_module
from pkgutil import iter_modules

from equipment.models.registers.base import (
    Asked,
    Beside,
    Cell,
    Column,
    Heads,
    Line,
    Named,
    Register,
    Tally,
    heads_now,
    heads_to_read,
)

_NOT_REGISTERS = {"base", "reading"}

REGISTERS: dict[str, Register] = {
    register.name: register
    for register in (
        import_module(f"{__name__}.{module.name}").REGISTER
        for module in iter_modules(__path__)
        if module.name not in _NOT_REGISTERS and not module.name.startswith("_")
    )
}

__all__ = [
    "REGISTERS", "Asked", "Beside", "Cell", "Column", "Heads", "Line", "Named", "Register", "Tally", "heads_now",
    "heads_to_read",
]  # fmt: skip
