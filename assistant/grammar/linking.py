"""Several grammar files become one set of rules by name, checked so that everything built on it stays finite.

Takes the files' trees and gives the rules. Refuses undefined, hidden and doubly defined rules, loops over something
that may be empty, and recursion that is not at the very end of its rule (only such recursion is regular).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

from assistant.grammar.tree import (
    Expansion,
    GrammarError,
    GrammarFile,
    InOrder,
    Literal,
    OneOf,
    Reference,
    Repeated,
    Rule,
    TagText,
    grammar_error,
)

RESERVED = ("NULL", "VOID")


def link(files: Sequence[GrammarFile], root: str) -> dict[str, Rule]:
    """All rules by their simple names, which must differ across files; raises GrammarError."""
    rules: dict[str, Rule] = {}
    for rule in (rule for file in files for rule in file.rules):
        other = rules.setdefault(rule.name, rule)
        if other is not rule:
            place = f"{other.file}:{other.line}"
            raise grammar_error(rule.file, rule.line, f"<{rule.name}> is already defined at {place}")
    if root not in rules:
        raise GrammarError(f"no file defines the root rule <{root}>")
    for file in files:
        _check_names(file, files, rules)
    empty = empty_rules(rules)
    for rule in rules.values():
        _check_loops(rule, rule.expansion, empty)
    _check_recursion(rules, empty)
    _check_ends(rules)
    return rules


def _check_names(file: GrammarFile, files: Sequence[GrammarFile], rules: Mapping[str, Rule]) -> None:
    """Every reference names a rule of its own file or a public one of an imported grammar."""
    named = {other.name: other for other in files}
    home = {rule.name: other.name for other in files for rule in other.rules}
    visible = {rule.name for rule in file.rules}
    for one in file.imports:
        visible |= _imported(file.file, one.grammar, one.name, one.line, named)
    for rule in file.rules:
        for reference in references(rule.expansion):
            if reference.name in RESERVED:
                continue
            wrong = reference.grammar and home.get(reference.name) not in (None, reference.grammar)
            if reference.name in visible and not wrong:
                continue
            known = reference.name in rules and not wrong
            message = f"<{reference.name}> is " + ("not imported, or not public" if known else "not defined")
            raise grammar_error(file.file, reference.line, message, wanted=reference.name, known=visible)


def _imported(file: str, grammar: str, name: str, line: int, named: Mapping[str, GrammarFile]) -> set[str]:
    if grammar not in named:
        raise grammar_error(file, line, f"no grammar is called {grammar}", wanted=grammar, known=named)
    public = {rule.name for rule in named[grammar].rules if rule.public}
    if name == "*":
        return public
    if name not in public:
        raise grammar_error(file, line, f"{grammar} has no public rule <{name}>", wanted=name, known=public)
    return {name}


def called_from(rule: str, rules: Mapping[str, Expansion]) -> dict[str, Expansion]:
    """The rule and all that it calls, and what these call: no more is needed to match it."""
    found: dict[str, Expansion] = {}
    waiting = [rule]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found[name] = rules[name]
            waiting += [reference.name for reference in references(rules[name])]
    return found


def references(expansion: Expansion) -> Iterator[Reference]:
    """Every reference within, in order."""
    match expansion:
        case Reference():
            yield expansion
        case InOrder(items) | OneOf(items):
            for item in items:
                yield from references(item)
        case Repeated(item):
            yield from references(item)


def empty_rules(rules: Mapping[str, Rule]) -> frozenset[str]:
    """The rules that can be passed without a word."""
    found: set[str] = set()
    while more := {n for n, rule in rules.items() if n not in found and may_be_empty(rule.expansion, found)}:
        found |= more
    return frozenset(found)


def may_be_empty(expansion: Expansion, empty: Collection[str]) -> bool:
    """Whether it can be passed without a word, given the rules that can."""
    match expansion:
        case Literal():
            return False
        case TagText():
            return True
        case Reference(name):
            return name in empty
        case InOrder(items):
            return all(may_be_empty(item, empty) for item in items)
        case OneOf(items):
            return any(may_be_empty(item, empty) for item in items)
        case Repeated(item, at_least):
            return at_least == 0 or may_be_empty(item, empty)


def _check_loops(rule: Rule, expansion: Expansion, empty: Collection[str]) -> None:
    match expansion:
        case InOrder(items) | OneOf(items):
            for item in items:
                _check_loops(rule, item, empty)
        case Repeated(item, _, line):
            if may_be_empty(item, empty):
                raise grammar_error(rule.file, line, f"a loop in <{rule.name}> repeats something that may be empty")
            _check_loops(rule, item, empty)


def _check_recursion(rules: Mapping[str, Rule], empty: Collection[str]) -> None:
    """A rule may come back to itself only at its very end, and not before a word was said."""
    inner: dict[str, list[Reference]] = {}
    silent: dict[str, list[Reference]] = {}
    every: dict[str, list[Reference]] = {}
    for name, rule in rules.items():
        places = list(_places(rule.expansion, True, False, empty))
        every[name] = [one for one, _, _ in places if one.name in rules]
        inner[name] = [one for one, last, _ in places if not last and one.name in rules]
        silent[name] = [one for one, _, spoken in places if not spoken and one.name in rules]
    for name, rule in rules.items():
        for reference in inner[name]:
            if name in _reachable(reference.name, every):
                message = f"<{reference.name}> comes back to <{name}> before its end; write it with * or +"
                raise grammar_error(rule.file, reference.line, message)
        for reference in silent[name]:
            if name in _reachable(reference.name, silent):
                message = f"<{reference.name}> comes back to <{name}> with no word said between"
                raise grammar_error(rule.file, reference.line, message)


def _places(
    expansion: Expansion, last: bool, spoken: bool, empty: Collection[str]
) -> Iterator[tuple[Reference, bool, bool]]:
    """Each reference, whether it ends its rule, and whether a word was surely said before it."""
    match expansion:
        case Reference():
            yield expansion, last, spoken
        case OneOf(items):
            for item in items:
                yield from _places(item, last, spoken, empty)
        case Repeated(item):
            yield from _places(item, False, spoken, empty)
        case InOrder(items):
            for index, item in enumerate(items):
                ends = last and all(isinstance(after, TagText) for after in items[index + 1 :])
                yield from _places(item, ends, spoken, empty)
                spoken = spoken or not may_be_empty(item, empty)


def _reachable(start: str, edges: Mapping[str, Iterable[Reference]]) -> set[str]:
    found = {start}
    waiting = [start]
    while waiting:
        for reference in edges[waiting.pop()]:
            if reference.name not in found:
                found.add(reference.name)
                waiting.append(reference.name)
    return found


def _check_ends(rules: Mapping[str, Rule]) -> None:
    """Every rule can come to an end; <VOID> counts as one."""
    ending = {name for name, rule in rules.items() if rule.void}
    more = True
    while more:
        more = False
        for name, rule in rules.items():
            if name not in ending and matchable(rule.expansion, lambda other: other in ending or other == "VOID"):
                ending.add(name)
                more = True
    for name, rule in rules.items():
        if name not in ending:
            raise grammar_error(rule.file, rule.line, f"<{name}> never comes to an end")


def matchable(expansion: Expansion, rule_is: Callable[[str], bool]) -> bool:
    """Whether anything can match, given whether each rule can."""
    match expansion:
        case Reference(name):
            return rule_is(name)
        case InOrder(items):
            return all(matchable(item, rule_is) for item in items)
        case OneOf(items):
            return any(matchable(item, rule_is) for item in items)
        case Repeated(item, at_least):
            return at_least == 0 or matchable(item, rule_is)
    return True
