"""One simulated incident played against the product: fold and watch on one side, a medic and the truth on the other.

The medic answers a request for a reading with some probability, reads now and then unasked, turns the flow, changes
the cylinder when told that the reserve is reached (or too late), and may mend a leak that is suspected.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from itertools import count
from math import inf, isfinite, nan
from random import Random

from plain_reckoning import PlainReckoning
from truth import Gauge, Regulator, Scene, true_cylinder
from watch_outcomes import Announced, Crossed, Played, Sample

from assistant.incident import events as ev
from assistant.incident.conditions import conditions
from assistant.incident.log import Incident
from assistant.incident.watch import SAME_FOR_S, due_alerts, next_due_s
from assistant.oxygen.cylinders import PSI_BAR

CYLINDERS = 3


class Play:
    """The loop: whatever is next, an alert of the watch, a doing of the medic, or a true crossing."""

    def __init__(self, drawn: Scene, *, every_s: float = inf) -> None:
        self.scene = drawn
        self.random = Random(f"play {drawn.seed} {drawn.size}")
        self.regulator = Regulator(random=self.random, common=self.random.gauss(0, 1))
        kit = drawn.kit
        self.gauge = Gauge(
            random=self.random, limit_bar=kit.gauge_accuracy_bar, step_bar=kit.gauge_step_bar or 50 * PSI_BAR
        )
        self.incident = Incident(kit)
        self.played = Played(scene=drawn)
        self.order = count()
        self.doings: list[tuple[float, int, Callable[[float], None]]] = []
        self.name = "1"
        self.opened_s = 0.0
        self.setting = drawn.first_setting
        self.cylinder = true_cylinder(drawn, self.regulator, self.random, first=True)
        self.plain = self.reckoned_anew()
        self.near_since: float | None = None
        self.changing = False
        self.over = False
        self.every_s = every_s

    def reckoned_anew(self) -> PlainReckoning:
        return PlainReckoning(self.scene.kit.spec(self.scene.size), self.scene.kit.reserve_bar)

    # what is said to the product

    def say(self, *events: ev.Event) -> None:
        self.incident.append(list(events))
        self.played.events += len(events)

    def at(self, at_s: float, doing: Callable[[float], None]) -> None:
        if at_s < self.scene.lasts_s:
            heapq.heappush(self.doings, (at_s, next(self.order), doing))

    def read(self, at_s: float) -> None:
        if self.over or self.changing:
            return
        bar = self.gauge.shows(self.cylinder.bar)
        unit = self.scene.kit.pressure_unit
        value = bar / PSI_BAR if unit == "psi" else bar
        self.played.readings.append((at_s, self.name, bar))
        self.plain.read(at_s, bar)
        self.say(ev.GaugeRead(at_s=at_s, cylinder=self.name, value=value, unit=unit, pressure_bar=bar))
        self.sample(at_s)

    # what the medic does

    def opens(self, at_s: float) -> None:
        """A cylinder is fitted, read and opened."""
        if self.scene.cold is not None and self.scene.cold.from_s <= at_s:  # it was carried through the cold too
            self.cylinder.at_s = self.scene.cold.from_s
            self.cylinder.air_celsius = self.scene.cold.celsius
            self.cylinder.at(at_s)
        self.cylinder.at_s = at_s
        self.cylinder.open, self.cylinder.setting = True, self.setting
        self.opened_s, self.near_since, self.changing = at_s, None, False
        self.plain = self.reckoned_anew()
        if self.name != "1":
            self.say(ev.CylinderChanged(at_s=at_s, cylinder=self.name, patient="1"))
        elif self.scene.start_told:
            self.say(ev.TemperatureNoted(at_s=at_s, celsius=self.scene.start_celsius))
        self.say(ev.CylinderSized(at_s=at_s, cylinder=self.name, size=self.scene.size))
        self.read(at_s)
        self.sets_flow(at_s)
        self.sample(at_s)

    def reads_unasked(self, at_s: float) -> None:
        self.read(at_s)
        self.at(at_s + 60 * self.random.expovariate(1 / self.scene.own_reading_min), self.reads_unasked)

    def turns_flow(self, at_s: float) -> None:
        if not self.over and not self.changing:
            near = [f for f in (1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 15.0) if f != self.setting]
            off = self.random.random() < 0.15
            self.setting = 0.0 if off else self.random.choice(near)
            self.cylinder.setting = self.setting
            self.sets_flow(at_s)
            self.sample(at_s)
            if off:
                self.at(at_s + self.random.uniform(120, 900), self.turns_flow)
        self.at(at_s + 60 * self.random.expovariate(1 / self.scene.change_flow_min), self.turns_flow)

    def sets_flow(self, at_s: float) -> None:
        self.plain.set(at_s, self.setting)
        self.say(ev.FlowSet(at_s=at_s, patient="1", flow_l_min=self.setting))

    def gets_cold(self, at_s: float) -> None:
        cold = self.scene.cold
        if cold is not None:
            self.cylinder.air_celsius = cold.celsius
            if cold.told:
                self.say(ev.TemperatureNoted(at_s=at_s, celsius=cold.celsius))

    def changes(self, at_s: float) -> None:
        if self.over or self.changing:
            return
        if int(self.name) == CYLINDERS:
            self.over = True
            return
        if isfinite(self.every_s):
            self.played.track.append((at_s, nan, nan, nan))
        self.name = str(int(self.name) + 1)
        self.cylinder.open = False
        self.cylinder = true_cylinder(self.scene, self.regulator, self.random, first=False)
        if self.setting == 0:
            self.setting = 2.0
        self.opens(at_s)

    def hears(self, alert: ev.AlertRaised) -> None:
        """What the medic does about an alert, if anything."""
        at_s, random = alert.at_s, self.random
        if alert.alert == "reading_overdue":
            self.played.asked += 1
            if random.random() < self.scene.answers:
                self.at(at_s + random.uniform(20, 60), self.read)
            elif random.random() < 0.15:
                self.at(at_s + 5, lambda s: self.acknowledge(s, alert))
        elif alert.alert == "leak_suspected" and random.random() < 0.5:
            self.at(at_s + random.uniform(60, 180), self.mends)
            self.at(at_s + 10, lambda s: self.acknowledge(s, alert))
        elif alert.alert in ("reserve_reached", "empty") and random.random() < 0.8:
            name = self.name
            self.at(at_s + random.uniform(60, 150), lambda s: self.changes(s) if self.name == name else None)
            self.at(at_s + 10, lambda s: self.acknowledge(s, alert))
        elif random.random() < 0.5:
            self.at(at_s + 10, lambda s: self.acknowledge(s, alert))

    def mends(self, at_s: float) -> None:
        self.cylinder.leak_l_min = 0.0

    def acknowledge(self, at_s: float, alert: ev.AlertRaised) -> None:
        key = {"alert": alert.alert, "cylinder": alert.cylinder, "patient": alert.patient}
        self.say(ev.AlertAcknowledged(at_s=at_s, **key))

    # what is measured

    def sample(self, at_s: float) -> None:
        estimate = self.incident.state.cylinders[self.name].estimate
        true = self.cylinder.minutes_to(self.scene.kit.reserve_bar)
        if estimate is None or not isfinite(true) or true <= 0 or self.setting <= 0:
            return
        if estimate.flow_l_min != self.setting:  # a cylinder just fitted is read before its flow is told
            return
        minutes = estimate.minutes_to(at_s, self.scene.kit.reserve_bar)
        self.played.samples.append(
            Sample(
                at_s=at_s,
                low=minutes.low,
                high=minutes.high,
                expected=minutes.expected,
                true=true,
                plain=self.plain.minutes(at_s),
                leaking=self.cylinder.leak_l_min > 0 and self.cylinder.leak_from_s <= at_s,
                cold=self.scene.cold is not None and self.scene.cold.from_s <= at_s,
            )
        )

    def near_in_force(self, at_s: float) -> bool:
        """Whether the watch stands by it that this cylinder is near or at its reserve, now or in two minutes' time.

        Two minutes is what the watch itself takes for the same condition, seen afresh (`watch.SAME_FOR_S`): a reading
        that moves the announcement by less takes nothing back.
        """
        kinds = ("reserve_near", "reserve_reached", "empty")
        mine = (c for c in conditions(self.incident.state) if c.cylinder == self.name and c.alert in kinds)
        return any(c.due_s <= at_s + SAME_FOR_S and at_s < c.until_s for c in mine)

    def announces(self, at_s: float) -> None:
        for due in due_alerts(self.incident.state, self.scene.kit, at_s):
            before = self.incident.state.alerts.get((due.alert, due.cylinder, due.patient))
            alert = ev.AlertRaised(
                at_s=at_s,
                alert=due.alert,
                priority=due.priority,
                say="",
                cylinder=due.cylinder,
                patient=due.patient,
                fell_due_s=due.due_s,
            )
            near = due.alert in ("reserve_near", "reserve_reached", "empty")
            self.played.announced.append(
                Announced(
                    at_s=at_s,
                    alert=due.alert,
                    priority=due.priority,
                    cylinder=due.cylinder or "",
                    open_min=(at_s - self.opened_s) / 60,
                    left_min=self.cylinder.minutes_to(self.scene.kit.reserve_bar),
                    fresh=self.near_since is None if near else before is None,
                    flow_l_min=self.setting,
                )
            )
            if near and self.near_since is None:
                self.near_since = at_s
            if due.alert == "leak_suspected" and self.played.leak_suspected_s is None:
                self.played.leak_suspected_s = at_s
            self.say(alert)
            self.hears(alert)

    def crosses(self, at_s: float) -> None:
        """The truth passes the reserve. It counts as announced where the medic was told that the reserve is near or
        reached and that still stood, or was told within the kit's minutes before (a turn of the flow to and fro takes
        an announcement back that the medic still has in the ear)."""
        kinds = ("reserve_near", "reserve_reached", "empty")
        told = [a.at_s for a in self.played.announced if a.cylinder == self.name and a.alert in kinds]
        lately = [told_s for told_s in told if at_s - told_s <= 60 * self.scene.kit.reserve_near_min]
        since = self.near_since if self.near_since is not None else min(lately, default=None)
        self.played.crossed.append(
            Crossed(
                at_s=at_s,
                cylinder=self.name,
                announced=since is not None,
                ahead_min=(at_s - since) / 60 if since is not None else -inf,
                leaking=self.cylinder.leak_l_min > 0 and self.cylinder.leak_from_s <= at_s,
                flow_l_min=self.setting,
                plain_min=self.plain.minutes(at_s),
            )
        )

    def run(self) -> Played:
        """Play the incident to its end."""
        self.opens(0.0)
        self.at(60 * self.random.expovariate(1 / self.scene.own_reading_min), self.reads_unasked)
        self.at(60 * self.random.expovariate(1 / self.scene.change_flow_min), self.turns_flow)
        if self.scene.cold is not None:
            self.at(self.scene.cold.from_s, self.gets_cold)
        if self.scene.leak_from_s < inf:
            self.at(self.scene.leak_from_s, lambda _: None)
        if isfinite(self.every_s):
            self.at(0.0, self.looks)
        now_s, crossed = 0.0, ""
        while not self.over and now_s < self.scene.lasts_s:
            doing_s = self.doings[0][0] if self.doings else inf
            alert_s = max(now_s, next_due_s(self.incident.state, self.scene.kit, now_s))
            left_min = self.cylinder.minutes_to(self.scene.kit.reserve_bar)
            cross_s = inf if crossed == self.name else now_s + 60 * left_min
            then_s = min(doing_s, alert_s, cross_s)
            if then_s >= self.scene.lasts_s:
                break
            if then_s > now_s:
                self.cylinder.at(then_s)
                now_s = then_s
            if cross_s == then_s:  # on the same second the truth comes first: announced "before" means before
                crossed = self.name
                self.crosses(now_s)
            elif alert_s == then_s:
                self.forget_retracted(now_s)
                self.announces(now_s)
            else:
                heapq.heappop(self.doings)[2](now_s)
                self.forget_retracted(now_s)
        self.played.minutes = now_s / 60
        return self.played

    def forget_retracted(self, at_s: float) -> None:
        """An announcement that later readings or a lower flow took back counts no more; with the flow off all rests."""
        if self.setting > 0 and self.near_since is not None and not self.near_in_force(at_s):
            self.near_since = None

    def looks(self, at_s: float) -> None:
        """For the plot: truth and estimate every so often."""
        estimate = self.incident.state.cylinders[self.name].estimate
        if estimate is not None:
            mean, sd = estimate.pressure_bar(at_s)
            self.played.track.append((at_s, self.cylinder.bar, mean, sd))
        self.at(at_s + self.every_s, self.looks)
