"""The cylinders at hand against a time: which first, when to change, whether they last, and which flow would.

Takes what their gauges read, a flow, minutes and a kit; gives a frozen AtHand. Refuses what cannot be, with the errors
of what it puts together: OrderError, LastingError, SupplyError.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from assistant.oxygen.kit import Kit
from assistant.oxygen.lasting import Held, LastingFlow, change_after_min, lasting_flow
from assistant.oxygen.order import Course, OrderError, Sharing, order_of_use, set_lasts

MOST_PATIENTS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class AtHand:
    """For one patient the `course`, the minutes after which to begin the first change, and the flows that would last.

    For several, each with a cylinder and a regulator of their own: how the set is shared out.
    """

    minutes: float
    flow_l_min: float
    patients: int
    held: tuple[str, ...]
    course: Course | None = None
    first_change_min: int | None = None
    lasting: LastingFlow | None = None
    sharing: Sharing | None = None

    def as_json(self) -> dict[str, Any]:
        """A plain dictionary with the units in its keys, for JSON."""
        return {"type": "at_hand", **asdict(self)}


def at_hand(
    held: Sequence[Held], *, minutes: float, flow_l_min: float, patients: int, kit: Kit, celsius: float | None = None
) -> AtHand:
    """The cylinders at hand for so many minutes, each patient at the flow."""
    if not 1 <= patients <= MOST_PATIENTS:
        raise OrderError(f"The cylinders are shared among 1 to {MOST_PATIENTS} patients.")
    reserve_bar, names = kit.reserve_bar, tuple(one.name for one in held)
    if patients != 1:
        sharing = set_lasts(held, [flow_l_min] * patients, reserve_bar=reserve_bar, celsius=celsius)
        return AtHand(minutes=minutes, flow_l_min=flow_l_min, patients=patients, held=names, sharing=sharing)
    course = order_of_use(held, flow_l_min, minutes, reserve_bar=reserve_bar, celsius=celsius)
    first = next((one for stretch in course.stretches[:1] for one in held if one.name == stretch.cylinder), None)
    change_min = None
    if first is not None and len(course.stretches) > 1:
        accuracy_bar = kit.gauge_accuracy_bar
        change_min = change_after_min(
            first, flow_l_min, reserve_bar=reserve_bar, gauge_accuracy_bar=accuracy_bar, celsius=celsius
        )
    lasting = lasting_flow(
        held,
        minutes,
        kit.flows_l_min,
        reserve_bar=reserve_bar,
        margin=kit.handover_margin,
        present_l_min=flow_l_min,
        celsius=celsius,
    )
    return AtHand(
        minutes=minutes, flow_l_min=flow_l_min, patients=1, held=names,
        course=course, first_change_min=change_min, lasting=lasting,
    )  # fmt: skip
