"""A loaded grammar and everything that is derived from it. Takes texts, never files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from hashlib import sha256
from itertools import pairwise
from types import MappingProxyType

from assistant.collector import no_collector
from assistant.grammar.acceptor import Acceptor, build_acceptor
from assistant.grammar.derivation import Node
from assistant.grammar.filling import ANYTHING, NUMERAL, filled_in, live_rules, live_words, spoken
from assistant.grammar.jsgf import read_jsgf
from assistant.grammar.learning import learned, made_of
from assistant.grammar.linking import called_from, link
from assistant.grammar.listing import Example, HelpEntry, documentation_table, help_entries, tagged
from assistant.grammar.matching import Matcher
from assistant.grammar.network import Network, build_network
from assistant.grammar.pocketsphinx import pocketsphinx_text
from assistant.grammar.sampling import distinct_sentences, word_pairs
from assistant.grammar.sounds import Sounds, check_sounds
from assistant.grammar.tree import Expansion, Rule, grammar_error

ROOT = "utterance"
UNK_COST = 8.0
UNK_LOOP_COST = 3.0
"""Where the ears do not say what other talk costs: about what a likely short utterance and its further words cost."""
NUMBERS = "numbers.jsgf"
"""The file of the words of numbers: which number is said is not learned."""
MAKE = "4"
"""Raise it when the same files give another acceptor than before: what was built from them is then built anew."""


def load_grammar(
    texts: Mapping[str, str],
    slots: Mapping[str, Sequence[str]],
    *,
    root: str = ROOT,
    said: Sequence[str] = (),
    sounds: Sounds = MappingProxyType({}),
) -> Grammar:
    """The grammar of these files (name → text), the rules declared <VOID> filled with the phrases of `slots`.

    `said`: sentences that people say, from which the recogniser's graph learns what is likely; one that does not match
    teaches nothing. `sounds`: words of no other use here that sound like one of the grammar's, for which
    the recogniser takes them. Raises GrammarError, naming file and line, where the grammar cannot be used.
    """
    rules = link([read_jsgf(text, file=file) for file, text in sorted(texts.items())], root)
    for name in slots:
        if name not in rules or not rules[name].void:
            void = [rule.name for rule in rules.values() if rule.void]
            message = f"the slot <{name}> is not declared <VOID> by any file"
            raise grammar_error(rules[root].file, rules[root].line, message, wanted=name, known=void)
    filling = sorted((name, tuple(phrases)) for name, phrases in slots.items())
    content = repr((MAKE, sorted(texts.items()), filling, root, tuple(said), sorted(sounds.items())))
    digest = sha256(content.encode()).hexdigest()
    grammar = Grammar(rules, filled_in(rules, slots), root, digest, tuple(said), sounds)
    check_sounds(sounds, grammar.words())
    return grammar


class Grammar:
    """What can be said, ready for every use.

    `digest` is the same for the same files, slots, root, sounds and sentences said: a key for what is built from them.
    `rule`, where it is taken, stands for the root.
    """

    def __init__(
        self,
        rules: Mapping[str, Rule],
        filled: Mapping[str, Expansion],
        root: str,
        digest: str,
        said: Sequence[str] = (),
        sounds: Sounds = MappingProxyType({}),
    ) -> None:
        self.root = root
        self._sounds = sounds
        self._said = said
        self.digest = digest
        self._rules = rules
        self._filled = filled
        self._matchers: dict[str, Matcher] = {}

    def parse(self, tokens: Sequence[str], *, limit: int = 8, rule: str | None = None) -> tuple[Node, ...]:
        """Derivations of the whole utterance, cheapest first, at most `limit`; none where it does not match.

        `tokens` are lower-case words, typed numerals ("1500", "1.5") and "[unk]".
        """
        return self._matcher(rule).parse(tokens, limit)

    def parse_each(self, utterances: Sequence[Sequence[str]], *, limit: int = 8) -> tuple[tuple[Node, ...], ...]:
        """The same for each of several utterances, faster the more of their beginnings they share."""
        return self._matcher(None).parse_each(utterances, limit)

    def matches(self, tokens: Sequence[str], *, rule: str | None = None) -> bool:
        """Whether the whole utterance matches."""
        return self._matcher(rule).matches(tokens)

    def leading(self, tokens: Sequence[str], *, rule: str) -> int:
        """How many words at the beginning match the rule as a whole, at most; 0 where none do."""
        return self._matcher(rule).leading(tokens)

    def acceptor(
        self, *, rule: str | None = None, unk_cost: float | None = UNK_COST, unk_loop_cost: float = UNK_LOOP_COST
    ) -> Acceptor:
        """The recogniser's graph of what can be said; takes a second or two, so keep it by `digest`, rule and costs.

        Beside it stand utterances of nothing but "[unk]", the first at `unk_cost`, every further one at
        `unk_loop_cost`; with None for the first there are none.
        """
        with no_collector():  # a million moves, all kept: a quarter of the time went into looking through them
            acceptor = build_acceptor(self._spoken_network(rule or self.root), rule or self.root)
        return acceptor if unk_cost is None else acceptor.with_other_talk(unk_cost, unk_loop_cost)

    def words(self, *, typed: bool = False) -> tuple[str, ...]:
        """Every word that can be said, sorted; with `typed` those too that can only be typed."""
        return self._words_typed if typed else self._words_said

    def word_places(self, *, typed: bool = False) -> dict[str, tuple[str, int]]:
        """For every word the file and line where it first stands; a slot's phrases stand where it is declared."""
        filled = self._filled if typed else self._spoken
        live = live_rules(filled)
        places: dict[str, tuple[str, int]] = {}
        for name, rule in self._rules.items():
            for literal in live_words(filled[name], live) if name in live else ():
                if literal.word not in (ANYTHING, NUMERAL):
                    places.setdefault(literal.word, (rule.file, literal.line))
        return places

    def sounds(self) -> Sounds:
        """Word → other words that sound the same, which a recogniser may take for it."""
        return self._sounds

    def phrases(self, n: int = 1000) -> tuple[str, ...]:
        """For a recogniser that takes a phrase list: likely utterances, then every pair of words that they lack."""
        said = self.sentences(0, n)
        held = {f"{one} {after}" for sentence in said for one, after in pairwise(sentence.split())}
        return (*said, *(pair for pair in word_pairs(self.acceptor(unk_cost=None)) if pair not in held))

    def sentences(self, seed: int, n: int, *, rule: str | None = None) -> tuple[str, ...]:
        """Up to `n` different random utterances by the grammar's weights; the same for the same seed.

        Free words come out as "[unk]".
        """
        return distinct_sentences(self._spoken_network(rule or self.root), rule or self.root, seed, n)

    def to_pocketsphinx(self, *, rule: str | None = None) -> str:
        """One self-contained JSGF text of what can be said, as pocketsphinx reads it."""
        return pocketsphinx_text(self._spoken, rule or self.root)

    def examples(self) -> tuple[Example, ...]:
        """Every `@example`: its rule must match it."""
        return tagged(self._rules.values(), "example")

    def nonexamples(self) -> tuple[Example, ...]:
        """Every `@nonexample`: its rule must not match it."""
        return tagged(self._rules.values(), "nonexample")

    def help(self) -> tuple[HelpEntry, ...]:
        """What can be said: one entry for each documented public rule, in the order of the files."""
        return help_entries(self._rules.values())

    def table(self) -> str:
        """The same with every example, as a Markdown table."""
        return documentation_table(self._rules.values())

    @cached_property
    def _words_said(self) -> tuple[str, ...]:
        return tuple(sorted(self.word_places()))

    @cached_property
    def _words_typed(self) -> tuple[str, ...]:
        return tuple(sorted(self.word_places(typed=True)))

    @cached_property
    def _spoken(self) -> dict[str, Expansion]:
        return spoken(self._filled)

    def _network(self, rule: str) -> Network:
        """What can be typed or said, with an entry for the rule."""
        for matcher in self._matchers.values():
            if rule in matcher.network.entry:
                return matcher.network
        return build_network(called_from(rule, self._filled), rule)

    def _spoken_network(self, rule: str) -> Network:
        return build_network(self._as_said, rule, keeps_steps=True)

    @cached_property
    def _as_said(self) -> dict[str, Expansion]:
        """The spoken rules, with the weights that the sentences said teach; how numbers are said stays as written."""
        if not self._said:
            return self._spoken
        matcher = Matcher(build_network(self._spoken, self.root), self.root)
        found = (matcher.parse(words.split(), 1) for words in self._said)
        numbers = {name for name, rule in self._rules.items() if rule.file == NUMBERS}
        # Nor how long a note is: other people's talk, whose words stand beside the grammar, is longer.
        kept = made_of(self._spoken, numbers) | {"anything"}
        return learned(self._spoken, [ways[0] for ways in found if ways], but=kept)

    def _matcher(self, rule: str | None) -> Matcher:
        name = rule or self.root
        found = self._matchers.get(name)
        return found or self._matchers.setdefault(name, Matcher(self._network(name), name))
