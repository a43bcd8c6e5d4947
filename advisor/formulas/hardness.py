"""Hardness of steel in one scale as hardness in another: rules/hardness.toml."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.formulas.numeric import interpolate
from advisor.ground.folders import rule_tables

if TYPE_CHECKING:
    from advisor.formulas.numeric import Numeric


def brinell(value: Numeric, scale: str) -> Numeric:
    """Brinell hardness of a steel of a given hardness [HB], along straight lines between the entries of the table.

    scale: of rules/hardness.toml; value: within it. Source: astm-e140 tables 1 and 2.

    >>> brinell(30.0, "HRC"), brinell(95.0, "HRB"), brinell(150.0, "HB")
    (286.0, 210.0, 150.0)
    """
    if scale == "HB":
        return value
    table = rule_tables("hardness.toml")[scale]
    return float(interpolate(value, table["reads"], [float(hardness) for hardness in table["brinell"]]))
