"""What a JSGF file says, as frozen values: rules, what they expand to, and their documentation.

Everything keeps the line it stood on, so that an error, or a word the recogniser lacks, can be traced.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class GrammarError(ValueError):
    """A grammar that cannot be used; the text is `file:line: what is wrong; nearest is <x>`."""


def grammar_error(file: str, line: int, message: str, *, wanted: str = "", known: Iterable[str] = ()) -> GrammarError:
    """The error with its place, and the nearest of the `known` rule names to the `wanted` one."""
    near = get_close_matches(wanted, list(known), n=1, cutoff=0.5) if wanted else []
    return GrammarError(f"{file}:{line}: {message}" + (f"; nearest is <{near[0]}>" if near else ""))


@dataclass(frozen=True, slots=True)
class Literal:
    """One word to be said."""

    word: str
    line: int


@dataclass(frozen=True, slots=True)
class Reference:
    """Another rule, by its simple name; `grammar` is set where the name was qualified."""

    name: str
    line: int
    grammar: str = ""


@dataclass(frozen=True, slots=True)
class TagText:
    """The text between the braces."""

    text: str


@dataclass(frozen=True, slots=True)
class InOrder:
    """One after the other; none at all is <NULL>."""

    items: tuple[Expansion, ...]


@dataclass(frozen=True, slots=True)
class OneOf:
    """One of the items; the weights are as written, 1 where none was. `[x]` is one of x and nothing."""

    items: tuple[Expansion, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Repeated:
    """The item any number of times, but at least `at_least` (0 or 1); `go_on`: the probability of once more."""

    item: Expansion
    at_least: int
    line: int
    go_on: float = 0.3  # our choice, no source; learned where sentences are at hand


Expansion = Literal | Reference | TagText | InOrder | OneOf | Repeated

NOTHING = InOrder(())


@dataclass(frozen=True, slots=True)
class DocTag:
    """`@name text` of a documentation comment, on `line`."""

    name: str
    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Doc:
    """The documentation comment before a rule: what it says, then its tags in order."""

    description: str = ""
    tags: tuple[DocTag, ...] = ()

    def tagged(self, name: str) -> tuple[DocTag, ...]:
        """The tags of that name, in order."""
        return tuple(tag for tag in self.tags if tag.name == name)


@dataclass(frozen=True, slots=True)
class Rule:
    """`<name> = expansion;`"""

    name: str
    expansion: Expansion
    public: bool
    doc: Doc
    file: str
    line: int

    @property
    def void(self) -> bool:
        """Whether it is declared `= <VOID>`: to be filled in from outside."""
        return isinstance(self.expansion, Reference) and self.expansion.name == "VOID"


@dataclass(frozen=True, slots=True)
class Import:
    """`import <grammar.name>`; name is `*` for every public rule."""

    grammar: str
    name: str
    line: int


@dataclass(frozen=True, slots=True)
class GrammarFile:
    """One file: its grammar's name, what it imports and the rules it defines."""

    file: str
    name: str
    imports: tuple[Import, ...]
    rules: tuple[Rule, ...]
