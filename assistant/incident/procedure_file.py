"""Reading of procedure files: TOML texts in, procedures out. Refuses, naming file and line, what cannot be followed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from assistant.incident.procedure_check import checked
from assistant.incident.procedure_steps import (
    ASKABLE,
    EFFECTS,
    END,
    MOST_WORDS,
    Judgement,
    Procedure,
    ProcedureError,
    ProcedureStep,
)
from assistant.incident.step_conditions import CONDITIONS
from assistant.quantity import Measure
from assistant.toml_text import TomlError, table_in

_TOP = ("title", "ended", "trouble", "return_to", "step")
_STEP = (
    "name", "say", "caution", "called", "next", "when", "asks", "since", "many", "yes", "no", "yes_trouble",
    "no_trouble", "usual", "judge", "confirm", "must", "seconds", "does", "notes", "gap_from",
)  # fmt: skip
_JUDGE = ("under", "say", "refuse", "to")
_QUANTITY = re.compile(r"(\d+(?:\.\d+)?) (psi|bar|L/min)")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """A file's text with its name, so that an error can say on which line it is."""

    text: str
    source: str

    def line_of(self, key: str, nth: int) -> int:
        """The line that sets `key` in the nth step (-1: before the first), or else where that step begins."""
        here, begins = -1, 1
        for number, line in enumerate(self.text.splitlines(), start=1):
            if re.match(r"\s*\[\[\s*step\s*\]\]", line):
                here += 1
                begins = number if here == nth else begins
            elif here == nth and re.match(rf"\s*\[*\s*(?:step\.)?{re.escape(key)}\b", line):
                return number
        return begins

    def error(self, why: str, key: str = "", nth: int = -1, nearest: str | None = None) -> ProcedureError:
        line = self.line_of(key or "name", nth)
        return ProcedureError(why, source=self.source, line=line, nearest=nearest)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """One table of the file: the top (nth -1), a step, or a judgement of a step."""

    page: _Page
    keys: Mapping[str, Any]
    nth: int = -1

    def error(self, why: str, key: str = "", nearest: str | None = None) -> ProcedureError:
        return self.page.error(why, key, self.nth, nearest)

    def only(self, known: Sequence[str]) -> None:
        for key in self.keys:
            if key not in known:
                raise self.error(f'unknown key "{key}"', key, _near(key, known))

    def text(self, key: str, default: str | None = None) -> str:
        raw = self.keys.get(key, default)
        if not isinstance(raw, str) or (default is None and not raw.strip()):
            raise self.error(f'"{key}" is missing' if key not in self.keys else f'"{key}" has to be words', key)
        return raw.strip()

    def name(self, key: str) -> str | None:
        return self.text(key) if key in self.keys else None

    def flag(self, key: str) -> bool:
        raw = self.keys.get(key, False)
        if not isinstance(raw, bool):
            raise self.error(f'"{key}" has to be true or false', key)
        return raw

    def texts(self, key: str) -> tuple[str, ...]:
        """One text or a list of them."""
        raw = self.keys.get(key, [])
        listed = [raw] if isinstance(raw, str) else raw
        if not isinstance(listed, list) or not all(isinstance(one, str) and one.strip() for one in listed):
            raise self.error(f'"{key}" has to be words, or a list of them', key)
        return tuple(listed)

    def known(self, key: str, known: Sequence[str]) -> tuple[str, ...]:
        for one in self.texts(key):
            if one not in known:
                raise self.error(f'"{key}" does not know "{one}"', key, _near(one, known))
        return self.texts(key)

    def spoken(self, key: str, *, needed: bool = False) -> tuple[str, ...]:
        """Prompts: each at most twelve words, so that a tired listener keeps it."""
        prompts = self.texts(key)
        if needed and not prompts:
            raise self.error(f'"{key}" is missing: a step has to say something', key)
        for prompt in prompts:
            if len(prompt.split()) > MOST_WORDS:
                raise self.error(f'"{key}" has {len(prompt.split())} words, more than {MOST_WORDS}', key)
        return prompts


def _near(word: str, known: Sequence[str]) -> str | None:
    return next(iter(get_close_matches(word, known, n=1, cutoff=0.0)), None)


def load_procedures(texts: Mapping[str, str]) -> Mapping[str, Procedure]:
    """The procedures of TOML `texts`, by name: the file's name without ".toml". Raises ProcedureError."""
    procedures = {_name_of(source): _procedure(source, text) for source, text in sorted(texts.items())}
    checked(procedures)
    return MappingProxyType(procedures)


def _name_of(source: str) -> str:
    return source.replace("\\", "/").rsplit("/", 1)[-1].removesuffix(".toml")


def _procedure(source: str, text: str) -> Procedure:
    page = _Page(text=text, source=source)
    top = _Table(page=page, keys=_toml(page))
    top.only(_TOP)
    raw_steps = top.keys.get("step", [])
    if not isinstance(raw_steps, list) or not raw_steps or not all(isinstance(one, dict) for one in raw_steps):
        raise top.error('no step; add one under "[[step]]"', "step")
    title = top.text("title")
    return Procedure(
        name=_name_of(source),
        title=title,
        source=source,
        steps=MappingProxyType(_steps(page, raw_steps)),
        ended=next(iter(top.spoken("ended")), f"{title} done."),
        trouble=top.flag("trouble"),
        return_to=MappingProxyType(_return_to(top)),
    )


def _toml(page: _Page) -> dict[str, Any]:
    try:
        return table_in(page.text)
    except TomlError as error:
        raise ProcedureError(f"this is not TOML: {error}", source=page.source, line=error.line) from error


def _return_to(top: _Table) -> dict[str, str]:
    raw = top.keys.get("return_to", {})
    if not isinstance(raw, dict) or not all(isinstance(step, str) for step in raw.values()):
        raise top.error('"return_to" has to name a step for each procedure', "return_to")
    return dict(raw)


def _steps(page: _Page, raw_steps: list[dict[str, Any]]) -> dict[str, ProcedureStep]:
    tables = [_Table(page=page, keys=raw, nth=nth) for nth, raw in enumerate(raw_steps)]
    names = [table.text("name") for table in tables]
    steps: dict[str, ProcedureStep] = {}
    for table, name, following in zip(tables, names, [*names[1:], END], strict=True):
        if name in steps or name == END:
            raise table.error(f'a second step "{name}"' if name in steps else f'"{END}" is no name for a step', "name")
        steps[name] = _step(table, name, following)
    return steps


def _step(table: _Table, name: str, following: str) -> ProcedureStep:
    table.only(_STEP)
    asks = next(iter(table.known("asks", ASKABLE)), None)
    if asks != "answer" and any(key in table.keys for key in ("yes", "no", "yes_trouble", "no_trouble")):
        raise table.error(f'"{name}" branches on yes or no, but does not ask for an answer', "name")
    usual = next(iter(table.known("usual", ("yes", "no"))), "")
    if "yes" in table.keys and "no" in table.keys and not usual:
        raise table.error(f'"{name}" branches both ways: "usual" has to say which answer is the good one', "name")
    return ProcedureStep(
        name=name,
        line=table.page.line_of("name", table.nth),
        say=table.spoken("say", needed=True)[0],
        caution=next(iter(table.spoken("caution")), ""),
        called=table.texts("called"),
        next=table.text("next", following),
        following=following,
        when=_when(table),
        asks=asks,
        since=table.name("since"),
        many=table.flag("many"),
        yes=table.name("yes"),
        no=table.name("no"),
        yes_trouble=table.name("yes_trouble"),
        no_trouble=table.name("no_trouble"),
        usual=usual,
        judge=_judgements(table, asks),
        confirm=table.flag("confirm"),
        must=next(iter(table.spoken("must")), ""),
        seconds=_seconds(table),
        does=table.known("does", EFFECTS),
        notes=table.text("notes", ""),
        gap_from=table.name("gap_from"),
    )


def _seconds(table: _Table) -> int | None:
    raw = table.keys.get("seconds")
    if raw is not None and (type(raw) is not int or not 0 < raw <= 600):
        raise table.error('"seconds" has to be a whole number from 1 to 600', "seconds")
    return raw


def _when(table: _Table) -> Mapping[str, tuple[str, ...]]:
    raw = table.keys.get("when", {})
    if not isinstance(raw, dict):
        raise table.error('"when" has to be a table, such as { device = "mask" }', "when")
    for key, wanted in raw.items():
        if key not in CONDITIONS:
            raise table.error(f'"when" does not know "{key}"', "when", _near(key, tuple(CONDITIONS)))
        for one in (wanted,) if isinstance(wanted, str) else tuple(wanted):
            if one not in CONDITIONS[key]:
                raise table.error(f'"{key}" is never "{one}"', "when", _near(str(one), CONDITIONS[key]))
    return MappingProxyType({k: (w,) if isinstance(w, str) else tuple(w) for k, w in raw.items()})


def _judgements(table: _Table, asks: str | None) -> tuple[Judgement, ...]:
    raw = table.keys.get("judge", [])
    if not isinstance(raw, list) or not all(isinstance(one, dict) for one in raw):
        raise table.error('"judge" has to be tables: [[step.judge]]', "judge")
    if raw and asks not in ("gauge_reading", "flow_rate"):
        raise table.error('"judge" needs a step that asks for gauge_reading or flow_rate', "judge")
    return tuple(_judgement(_Table(page=table.page, keys=one, nth=table.nth), asks) for one in raw)


def _judgement(table: _Table, asks: str | None) -> Judgement:
    table.only(_JUDGE)
    wanted = ("L/min",) if asks == "flow_rate" else ("psi", "bar")
    found = _QUANTITY.fullmatch(table.text("under"))
    if not found or found[2] not in wanted:
        raise table.error(f'"under" has to be a number with {" or ".join(wanted)}', "under")
    refuse, to = table.flag("refuse"), table.name("to")
    if refuse and to:
        raise table.error('"refuse" stays at the step: it cannot go "to" another', "refuse")
    return Judgement(
        under=Measure(value=float(found[1]), unit=found[2]),
        say=table.spoken("say", needed=refuse),
        refuse=refuse,
        to=to,
    )
