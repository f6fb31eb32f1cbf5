"""A loaded grammar and everything that is derived from it. Takes texts, never files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from assistant.grammar.derivation import Node
from assistant.grammar.jsgf import read_jsgf
from assistant.grammar.linking import link
from assistant.grammar.matching import Matcher
from assistant.grammar.network import Network, build_network, filled_in, spoken
from assistant.grammar.tree import Rule

ROOT = "utterance"


def load_grammar(texts: Mapping[str, str], slots: Mapping[str, Sequence[str]], *, root: str = ROOT) -> Grammar:
    """The grammar of these files (name → text), the rules declared <VOID> filled with the phrases of `slots`.

    Raises GrammarError, naming file and line, where the grammar cannot be used.
    """
    rules = link([read_jsgf(text, file=file) for file, text in sorted(texts.items())], root)
    return Grammar(rules, slots, root)


class Grammar:
    """What can be said, ready for every use."""

    def __init__(self, rules: Mapping[str, Rule], slots: Mapping[str, Sequence[str]], root: str) -> None:
        self.rules = rules
        self.slots = slots
        self.root = root
        self._matchers: dict[str, Matcher] = {}

    @cached_property
    def network(self) -> Network:
        """All that can be typed or said."""
        return build_network(filled_in(self.rules, self.slots))

    @cached_property
    def spoken_network(self) -> Network:
        """What can be said aloud: without numerals and what is tagged {typed}."""
        return build_network(spoken(filled_in(self.rules, self.slots)), keeps_loops=True)

    def parse(self, tokens: Sequence[str], *, limit: int = 8, rule: str | None = None) -> tuple[Node, ...]:
        """Derivations of the whole utterance, cheapest first, at most `limit`; none where it does not match.

        `tokens` are lower-case words, typed numerals ("1500", "1.5") and "[unk]". With `rule`, the words must match
        that rule instead of the root.
        """
        return self._matcher(rule or self.root).parse(tokens, limit)

    def matches(self, tokens: Sequence[str], *, rule: str | None = None) -> bool:
        """Whether the whole utterance matches the root, or `rule`."""
        return self._matcher(rule or self.root).matches(tokens)

    def _matcher(self, rule: str) -> Matcher:
        found = self._matchers.get(rule)
        return found or self._matchers.setdefault(rule, Matcher(self.network, rule))
