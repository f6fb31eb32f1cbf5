"""What a procedure is made of: steps with a spoken prompt, conditions, judgements and exits. Read-only values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from assistant.quantity import Measure

END = "end"
MOST_WORDS = 12
# The kinds of meaning a step can wait for.
ASKABLE = (
    "answer",
    "gauge_reading",
    "flow_rate",
    "delivery_device",
    "cylinder_size",
    "vital_sign",
)
# What leaving a step as done can put in force without a word about it.
EFFECTS = ("flow_off", "next_cylinder")


def as_name(words: str) -> str:
    """Words as names are written: "Set-up" is "set_up"."""
    return "_".join(words.casefold().replace("-", " ").replace("_", " ").split())


class ProcedureError(ValueError):
    """A procedure file cannot be used; the text names file, line and, of a misspelt name, the nearest one."""

    def __init__(self, why: str, *, source: str, line: int, nearest: str | None = None) -> None:
        hint = f"; nearest is {nearest}" if nearest else ""
        super().__init__(f"{source}:{line}: {why}{hint}")
        self.source, self.line, self.nearest = source, line, nearest


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What follows where the value asked for is below `under`: words, a refusal to go on, or another step (`to`)."""

    under: Measure
    say: tuple[str, ...] = ()
    refuse: bool = False
    to: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcedureStep:
    """One action, in at most twelve spoken words.

    `caution` is said before the prompt. `when` lists the conditions under which the step is gone through at all.
    `asks` is the kind of meaning that completes it; a value given since the step `since` was left counts already, and
    with `many` the step goes on taking values until "done". `yes` and `no` name the step that follows an answer,
    `yes_trouble` and `no_trouble` the trouble path it opens; `usual` is the answer when all is well. `confirm` marks a
    step that is unsafe to begin on a "done" not surely heard. `must` is why the step cannot be skipped. `seconds` is
    how long it lasts; it then ends by itself.
    `gap_from` names the step that shut the gas off: the time since is told when this step is done. `next` comes after
    it, `following` where it is passed over.
    """

    name: str
    say: str
    next: str
    following: str
    line: int
    caution: str = ""
    called: tuple[str, ...] = ()
    when: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    asks: str | None = None
    since: str | None = None
    many: bool = False
    yes: str | None = None
    no: str | None = None
    yes_trouble: str | None = None
    no_trouble: str | None = None
    usual: str = ""
    judge: tuple[Judgement, ...] = ()
    confirm: bool = False
    must: str = ""
    seconds: int | None = None
    does: tuple[str, ...] = ()
    notes: str = ""
    gap_from: str | None = None

    @property
    def exits(self) -> tuple[str, ...]:
        """Every step that can follow this one, `END` included."""
        branches = (self.yes, self.no, *(j.to for j in self.judge))
        passed = self.following if self.when else None
        return tuple(dict.fromkeys((self.next, *(b for b in (passed, *branches) if b is not None))))

    @property
    def usual_next(self) -> str:
        """The step that follows when all is well."""
        return {"yes": self.yes, "no": self.no}.get(self.usual) or self.next

    @property
    def troubles(self) -> tuple[str, ...]:
        """The trouble paths an answer here can open."""
        return tuple(t for t in (self.yes_trouble, self.no_trouble) if t is not None)

    @property
    def prompts(self) -> tuple[str, ...]:
        """What is spoken when the step is reached."""
        return (self.caution, self.say) if self.caution else (self.say,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """A procedure: its steps in order, by name. `trouble` is one that answers a problem and then gives way.

    `return_to` says, for a procedure that was left for this one, which step it is taken up from at the latest.
    """

    name: str
    title: str
    source: str
    steps: Mapping[str, ProcedureStep]
    ended: str
    trouble: bool = False
    return_to: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def first(self) -> str:
        """The name of the first step."""
        return next(iter(self.steps))

    def place_called(self, name: str) -> str | None:
        """The step of that name, or the first one that is called so; None where there is none."""
        wanted = as_name(name)
        if wanted in self.steps:
            return wanted
        return next((s.name for s in self.steps.values() if wanted in s.called), None)

    def comes_after(self, step: str, other: str) -> bool:
        """Whether `step` stands after `other` in the file."""
        order = list(self.steps)
        return order.index(step) > order.index(other)
