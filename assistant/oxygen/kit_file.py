"""Reading of a kit file: TOML text in, a Kit out. Refuses, with a KitError, keys and values it does not know."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from assistant.oxygen.cylinders import CylinderSpec
from assistant.oxygen.kit import Kit, KitCylinder, KitError
from assistant.oxygen.refusal import OxygenError
from assistant.oxygen.sizes import COUNTRIES, letter_meaning
from assistant.quantity import Measure, UnitError, number_in, parsed
from assistant.toml_text import TomlError, table_in

TOP = (
    "pressure_unit", "reserve", "gauge_accuracy", "gauge_class", "gauge_step", "gauge_top", "country", "cylinder",
    "regulator", "reserve_near", "reading_overdue", "simple_mask_minimum", "target_saturation", "handover_margin",
)  # fmt: skip
CYLINDER = ("called", "size", "water_capacity", "service_pressure", "factor")
REGULATOR = ("flows", "kind", "fitting", "valve")
PRESSURE_UNITS = ("psi", "bar", "MPa", "kPa")
REGULATOR_KINDS = ("fixed_orifice", "float")
# How the regulator sits on the cylinder (an integrated one is part of its valve), and what opens the valve.
FITTINGS = ("yoke", "threaded", "integrated")
VALVES = ("key", "lever", "handwheel")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """The text with its name, so that an error can say on which line it is."""

    text: str
    source: str

    def line_of(self, key: str, table: str = "", nth: int = 0) -> int:
        """The line that sets `key` in the nth table of that name (from 0), else its header; 0 for neither."""
        here, count, head = "", -1, 0
        for number, line in enumerate(self.text.splitlines(), start=1):
            header = re.match(r"\s*\[+\s*([\w.-]+)\s*\]+", line)
            if header:
                here = header[1]
                count += here == table
                if here == (table or key) and (not table or count == nth):
                    head = head or number
            elif here == table and (not table or count == nth) and re.match(rf"\s*[\"']?{re.escape(key)}\b", line):
                return number
        return head

    def error(self, why: str, key: str, table: str = "", nth: int = 0, nearest: str | None = None) -> KitError:
        return KitError(why, source=self.source, line=self.line_of(key, table, nth), key=key, nearest=nearest)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """One table of the file, with its place in it."""

    page: _Page
    keys: Mapping[str, Any]
    name: str = ""
    nth: int = 0

    def error(self, why: str, key: str, nearest: str | None = None) -> KitError:
        return self.page.error(why, key, self.name, self.nth, nearest)

    def only(self, known: tuple[str, ...]) -> None:
        """Refuses a key that is not known; the nearest one is named."""
        for key in self.keys:
            if key not in known:
                near = get_close_matches(key, known, n=1, cutoff=0.0)
                raise self.error(f'unknown key "{key}"', key, near[0] if near else None)

    def number(self, key: str, unit: str, default: float | None) -> float | None:
        """The quantity under `key` in `unit`; a bare number is in `unit` already. Refuses what is not above zero."""
        if key not in self.keys:
            return default
        measure = self.measure(key, unit)
        return number_in(measure, unit)

    def measure(self, key: str, unit: str) -> Measure:
        """The quantity under `key` as it was written; refused where it does not fit `unit` or is below zero."""
        raw = self.keys[key]
        if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
            raise self.error(f'"{key}" has to be a quantity such as "200 {unit}"', key)
        try:
            measure = parsed(str(raw), unit=unit)
            number = number_in(measure, unit)
        except UnitError as error:
            raise self.error(f'"{key}": {error}', key) from error
        if number < 0:
            raise self.error(f'"{key}" cannot be below zero', key)
        return measure

    def one_of(self, key: str, known: tuple[str, ...], default: Any) -> Any:
        raw = self.keys.get(key, default)
        if raw is default or raw in known:
            return raw
        near = get_close_matches(str(raw), known, n=1, cutoff=0.0)
        raise self.error(f'"{key}" is {raw!r}, but has to be one of {", ".join(known)}', key, near[0])


def kit_read(text: str, source: str) -> Kit:
    """The kit a TOML text describes. Raises KitError."""
    page = _Page(text=text, source=source)
    top = _Table(page=page, keys=_toml(page))
    top.only(TOP)
    unit = top.one_of("pressure_unit", PRESSURE_UNITS, "psi")
    country = top.one_of("country", COUNTRIES, None)
    reserve = top.measure("reserve", unit) if "reserve" in top.keys else Measure(value=200.0, unit="psi")
    low, high = _target(top)
    regulator = _Table(page=page, keys=_table(top, "regulator"), name="regulator")
    regulator.only(REGULATOR)
    return Kit(
        pressure_unit=unit,
        reserve=reserve,
        reserve_bar=number_in(reserve, "bar"),
        gauge_accuracy_bar=_accuracy_bar(top, unit),
        cylinders=_cylinders(top, country),
        flows_l_min=_flows(regulator),
        country=country,
        gauge_step_bar=_bar(top, "gauge_step", unit),
        gauge_top_bar=_bar(top, "gauge_top", unit),
        reserve_near_min=top.number("reserve_near", "min", 5.0) or 0.0,
        reading_overdue_min=top.number("reading_overdue", "min", 15.0) or 0.0,
        simple_mask_minimum_l_min=top.number("simple_mask_minimum", "L/min", 6.0) or 0.0,
        target_low=low,
        target_high=high,
        handover_margin=_margin(top),
        regulator_kind=regulator.one_of("kind", REGULATOR_KINDS, "fixed_orifice"),
        fitting=regulator.one_of("fitting", FITTINGS, "yoke"),
        valve=regulator.one_of("valve", VALVES, "key"),
    )


def _toml(page: _Page) -> dict[str, Any]:
    try:
        return table_in(page.text)
    except TomlError as error:
        raise KitError(f"this is not TOML: {error}", source=page.source, line=error.line) from error


def _table(top: _Table, key: str) -> Mapping[str, Any]:
    raw = top.keys.get(key, {})
    if not isinstance(raw, dict):
        raise top.error(f'"{key}" has to be a table: [{key}]', key)
    return raw


def _bar(top: _Table, key: str, unit: str) -> float | None:
    number = top.number(key, unit, None)
    return None if number is None else number_in(Measure(value=number, unit=unit), "bar")


def _accuracy_bar(top: _Table, unit: str) -> float:
    """The gauge's limit of error: given as a pressure, or by class and top of scale (EN 837-1: percent of span)."""
    if "gauge_class" in top.keys:
        span = _bar(top, "gauge_top", unit)
        share = top.number("gauge_class", "%", None)
        if span is None or share is None:
            raise top.error('"gauge_class" needs "gauge_top", the highest figure on the gauge', "gauge_class")
        return share / 100 * span
    given = _bar(top, "gauge_accuracy", unit)
    return number_in(Measure(value=100.0, unit="psi"), "bar") if given is None else given


def _target(top: _Table) -> tuple[int, int]:
    raw = top.keys.get("target_saturation", [94, 98])  # BTS 2017 and AARC 2022, for most patients
    whole = isinstance(raw, list) and len(raw) == 2 and all(type(value) is int for value in raw)
    if not whole or not 50 <= raw[0] <= raw[1] <= 100:
        raise top.error('"target_saturation" has to be two percentages, such as [94, 98]', "target_saturation")
    return raw[0], raw[1]


def _margin(top: _Table) -> float:
    raw = top.keys.get("handover_margin", 0.2)
    if isinstance(raw, bool) or not isinstance(raw, (int, float)) or not 0 <= raw <= 2:
        raise top.error('"handover_margin" has to be a share of the time, such as 0.2', "handover_margin")
    return float(raw)


def _flows(regulator: _Table) -> tuple[float, ...]:
    raw = regulator.keys.get("flows", [0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 25])
    numbers = isinstance(raw, list) and raw and all(type(value) in (int, float) for value in raw)
    if not numbers or not all(0 < value <= 100 for value in raw):
        raise regulator.error('"flows" has to be a list of L/min above zero, such as [2, 4, 6]', "flows")
    return tuple(sorted({float(value) for value in raw}))


def _cylinders(top: _Table, country: str | None) -> tuple[KitCylinder, ...]:
    raw = top.keys.get("cylinder", [])
    if not isinstance(raw, list) or not raw or not all(isinstance(one, dict) for one in raw):
        raise top.error('the kit carries no cylinder; add one under "[[cylinder]]"', "cylinder")
    cylinders: list[KitCylinder] = []
    taken: dict[str, str] = {}
    for nth, keys in enumerate(raw):
        table = _Table(page=top.page, keys=keys, name="cylinder", nth=nth)
        cylinder = _cylinder(table, country)
        for name in {*(name.casefold() for name in cylinder.called), cylinder.size.casefold()}:
            if name in taken:
                raise table.error(f'"{name}" already names size {taken[name]}', "called")
            taken[name] = cylinder.size
        cylinders.append(cylinder)
    return tuple(cylinders)


def _cylinder(table: _Table, country: str | None) -> KitCylinder:
    table.only(CYLINDER)
    called = table.keys.get("called", [])
    if not isinstance(called, list) or not all(isinstance(name, str) and name.strip() for name in called):
        raise table.error('"called" has to be a list of words, such as ["small"]', "called")
    size = table.keys.get("size")
    if size is not None and (not isinstance(size, str) or not size.strip()):
        raise table.error('"size" has to be a name, such as "D"', "size")
    try:
        spec, assumed = _spec(table, size, country)
    except OxygenError as error:
        raise table.error(str(error), "size" if size else "called") from error
    return KitCylinder(called=tuple(name.strip() for name in called), size=spec.size, spec=spec, assumed=assumed)


def _spec(table: _Table, size: str | None, country: str | None) -> tuple[CylinderSpec, bool]:
    """What it holds: its own litres or factor where given, else the size of the trade."""
    litres = table.number("water_capacity", "L", None)
    factor = table.number("factor", "L/bar", None) if "factor" in table.keys else None
    service = table.number("service_pressure", "bar", None)
    if litres is not None or factor is not None:
        name = size or (f"{litres:g} L" if litres is not None else str(table.measure("factor", "L/bar")))
        return CylinderSpec(size=name, water_capacity_l=litres, factor_l_bar=factor, service_bar=service), False
    if size is None:
        raise table.error('a cylinder needs "size", "water_capacity" or "factor"', "called")
    meaning = letter_meaning(size, country)
    return meaning.used.spec, meaning.assumed
