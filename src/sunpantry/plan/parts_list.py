"""The parts list of a plan, from the bill."""

from __future__ import annotations

from sunpantry.plan.types import PlanPart
from sunpantry.sizing.cost import Cost


def parts_of(cost: Cost) -> tuple[PlanPart, ...]:
    """List every part with its price.

    Parameters
    ----------
    cost : Cost
        With its bill.
    """
    return tuple(
        PlanPart(
            role=item.role,
            name=item.part.name if item.part is not None else item.role,
            count=item.count,
            owned=item.owned,
            unit_price=item.unit_price,
            currency=cost.currency,
        )
        for item in cost.items
    )
