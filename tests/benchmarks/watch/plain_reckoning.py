"""What one would reckon with a card, a watch and the gauge: the last reading, less the set flow since, over the flow.

Takes readings and settings as they are told to the product; gives minutes to the reserve, by the rule of the trade.
"""

from __future__ import annotations

from math import inf

from assistant.oxygen.cylinders import CylinderSpec


class PlainReckoning:
    """One cylinder. It knows of no error, no warmth and no leak."""

    def __init__(self, spec: CylinderSpec, reserve_bar: float) -> None:
        self._l_per_bar = spec.rule_l_bar
        self._reserve_bar = reserve_bar
        self._above_l = 0.0
        self._flow_l_min = 0.0
        self._at_s = 0.0

    def read(self, at_s: float, bar: float) -> None:
        """The gauge was read."""
        self._at_s, self._above_l = at_s, (bar - self._reserve_bar) * self._l_per_bar

    def set(self, at_s: float, flow_l_min: float) -> None:
        """The flow was set."""
        self._above_l -= self._flow_l_min * (at_s - self._at_s) / 60
        self._at_s, self._flow_l_min = at_s, flow_l_min

    def minutes(self, at_s: float) -> float:
        """Minutes to the reserve at that time, below zero once it should be past; infinite with the flow off."""
        if self._flow_l_min <= 0:
            return inf
        return self._above_l / self._flow_l_min - (at_s - self._at_s) / 60
