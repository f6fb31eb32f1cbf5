"""One JSGF grammar, and from it the match, the recogniser graph, phrase list, help and sentences. Pure."""

from assistant.grammar.derivation import Node, Tag, Word
from assistant.grammar.model import Grammar, load_grammar
from assistant.grammar.sounds import read_sounds
from assistant.grammar.tree import GrammarError

__all__ = ["Grammar", "GrammarError", "Node", "Tag", "Word", "load_grammar", "read_sounds"]
