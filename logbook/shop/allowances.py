"""What customers allow to be spoiled, as shares of the pieces sewn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from logbook.errors import SettingsError
from logbook.shop.tables import PLACE, amount_of

USUAL = "usual"
"""The entry for customers without one of their own."""


@dataclass(frozen=True, slots=True)
class Allowances:
    """Shares of the pieces that may be spoiled.

    Attributes
    ----------
    usual
        Where nothing is agreed with a customer; None: nothing is said.
    by_customer
        Customer, in small letters → share.
    """

    usual: float | None = None
    by_customer: Mapping[str, float] = field(default_factory=dict)

    def of(self, customer: object) -> float | None:
        """What a customer allows; None where nothing is said."""
        return self.by_customer.get(str(customer).strip().casefold(), self.usual)


def allowances_from(settings: Mapping[str, Any]) -> Allowances:
    """Read ``[allowances]``: ``usual = 0.02`` and a line a customer, ``"Mill Rowing" = 0.01``.

    Raises
    ------
    SettingsError
        It is no table, or a share is no number from 0 to 1.
    """
    table = settings.get("allowances", {})
    if not isinstance(table, Mapping):
        raise SettingsError(
            f"{PLACE}: [allowances] must be a table.", "write [allowances] on a line"
        )
    shares = {str(name): amount_of(table, "allowances", name) for name in table}
    for name, share in shares.items():
        if share > 1:
            raise SettingsError(
                f"{PLACE}: [allowances] {name!r} is {share:g}; it must be a share from 0 to 1.",
                "2 % is written 0.02",
            )
    return Allowances(
        shares.get(USUAL),
        {name.strip().casefold(): share for name, share in shares.items() if name != USUAL},
    )
