"""Reads the text of one file in the Java Speech Grammar Format 1.0 (https://www.w3.org/TR/jsgf/) into its tree.

Beyond the format there is one documentation tag of our own, `@nonexample`: a near miss that the rule must not match.
Refuses, naming file and line, what the format does not allow.
"""

from __future__ import annotations

import re
from typing import NamedTuple, NoReturn

from assistant.grammar.tree import (
    NOTHING,
    Doc,
    DocTag,
    Expansion,
    GrammarFile,
    Import,
    InOrder,
    Literal,
    OneOf,
    Reference,
    Repeated,
    Rule,
    TagText,
    grammar_error,
)

_HEADER = re.compile(r"\ufeff?#JSGF\s+V1\.0(?:\s+[^\s;]+){0,2}\s*;")
_TOKEN = re.compile(
    r"""(?P<word>[^\s;=|*+<>()\[\]{}/"\\]+)
    |(?P<rule><[^<>\s]+>)
    |(?P<mark>[;=|*+()\[\]])
    |(?P<tag>\{(?:\\.|[^{}\\])*\})
    |(?P<doc>/\*\*(?!/).*?\*/)
    |(?P<comment>//[^\n]*|/\*.*?\*/)
    |(?P<weight>/[^/\n]*/)
    |(?P<quoted>"(?:\\.|[^"\\])*")""",
    re.VERBOSE | re.DOTALL,
)
_SPACE = re.compile(r"\s*")
_DOC_TAG = re.compile(r"@(\w+)\s*")


class _Token(NamedTuple):
    kind: str
    text: str
    line: int


def read_jsgf(text: str, *, file: str) -> GrammarFile:
    """The tree of one grammar file; `file` is its name in error messages. Raises GrammarError."""
    header = _HEADER.match(text)
    if header is None:
        raise grammar_error(file, 1, 'must begin with "#JSGF V1.0;"')
    return _Reader(file, _tokens(text, header.end(), file)).grammar_file()


def _tokens(text: str, position: int, file: str) -> list[_Token]:
    found: list[_Token] = []
    line = 1 + text.count("\n", 0, position)
    match_token, match_space = _TOKEN.match, _SPACE.match
    while True:
        space = match_space(text, position)
        assert space is not None
        line += text.count("\n", position, space.end())
        position = space.end()
        if position == len(text):
            return found
        token = match_token(text, position)
        if token is None:
            sign = text[position : position + 20].split()[0]
            raise grammar_error(file, line, f"cannot read {sign!r}; a word with such signs stands in double quotes")
        kind = token.lastgroup or ""
        if kind != "comment":
            found.append(_Token(kind, token.group(), line))
        line += text.count("\n", position, token.end())
        position = token.end()


def _doc(comment: str, line: int) -> Doc:
    """The comment's description, up to the first tag at the beginning of a line, and its tags."""
    parts: list[tuple[str, list[str], int]] = [("", [], line)]
    for offset, raw in enumerate(comment[3:-2].split("\n")):
        bare = raw.strip().lstrip("*").strip()
        tag = _DOC_TAG.match(bare)
        if tag:
            parts.append((tag.group(1), [], line + offset))
            bare = bare[tag.end() :]
        parts[-1][1].append(bare)
    said = [(name, " ".join(" ".join(lines).split()), where) for name, lines, where in parts]
    return Doc(said[0][1], tuple(DocTag(*one) for one in said[1:]))


class _Reader:
    """Recursive descent over the tokens of one file."""

    def __init__(self, file: str, tokens: list[_Token]) -> None:
        self._file = file
        self._tokens = tokens
        self._at = 0
        self._last = _Token("end", "the end of the file", tokens[-1].line if tokens else 1)

    def grammar_file(self) -> GrammarFile:
        self._skip_docs()
        self._expect("grammar")
        name = self._take("word", "the grammar's name").text
        self._expect(";")
        imports: list[Import] = []
        rules: list[Rule] = []
        while True:
            doc = self._skip_docs()
            token = self._peek()
            if token.kind == "end":
                return GrammarFile(self._file, name, tuple(imports), tuple(rules))
            if token.text == "import":
                imports.append(self._import())
            else:
                rules.append(self._rule(doc))

    def _import(self) -> Import:
        self._expect("import")
        token = self._take("rule", "<grammar.rule> or <grammar.*>")
        grammar, dot, name = token.text[1:-1].rpartition(".")
        if not dot:
            self._fail(token, f"import {token.text} names no grammar")
        self._expect(";")
        return Import(grammar, name, token.line)

    def _rule(self, doc: Doc) -> Rule:
        public = self._peek().text == "public"
        if public:
            self._at += 1
        token = self._take("rule", "a rule")
        name = token.text[1:-1]
        if "." in name or name in ("NULL", "VOID"):
            self._fail(token, f"{token.text} cannot be defined")
        self._expect("=")
        expansion = self._alternatives(";")
        return Rule(name, expansion, public, doc, self._file, token.line)

    def _alternatives(self, closing: str) -> Expansion:
        """Up to and with the closing mark."""
        items, weights = self._weighted(closing)
        return items[0] if len(items) == 1 else OneOf(tuple(items), tuple(weights))

    def _optional(self) -> Expansion:
        """`[x]`: x or nothing, alike; `[/w/ x]`: x weighs w against 1 for nothing."""
        items, weights = self._weighted("]")
        if len(items) == 1:
            return OneOf((items[0], NOTHING), (weights[0], 1.0))
        return OneOf((OneOf(tuple(items), tuple(weights)), NOTHING), (1.0, 1.0))

    def _weighted(self, closing: str) -> tuple[list[Expansion], list[float]]:
        items: list[Expansion] = []
        weights: list[float] = []
        while True:
            weights.append(self._weight())
            items.append(self._sequence())
            token = self._next()
            if token.kind == "mark" and token.text == closing:
                return items, weights
            if token.text != "|" or token.kind != "mark":
                self._fail(token, f"{token.text!r} where {closing!r} or '|' must be")

    def _weight(self) -> float:
        token = self._peek()
        if token.kind != "weight":
            return 1.0
        self._at += 1
        try:
            weight = float(token.text[1:-1])
        except ValueError:
            self._fail(token, f'{token.text} is no weight; a word with "/" in it stands in double quotes')
        if not 0.0 < weight < float("inf"):
            self._fail(token, f"the weight {token.text} is not above zero")
        return weight

    def _sequence(self) -> Expansion:
        items: list[Expansion] = []
        while (item := self._item()) is not None:
            items.append(self._repeated(item))
        if not items:
            self._fail(self._peek(), "nothing to say here; write <NULL> where that is meant")
        return items[0] if len(items) == 1 else InOrder(tuple(items))

    def _item(self) -> Expansion | None:
        token = self._peek()
        self._at += 1
        if token.kind == "word":
            return Literal(token.text.lower(), token.line)
        if token.kind == "rule":
            grammar, _, name = token.text[1:-1].rpartition(".")
            return NOTHING if name == "NULL" else Reference(name, token.line, grammar)
        if token.text == "(":
            return self._alternatives(")")
        if token.text == "[":
            return self._optional()
        if token.kind == "quoted":
            words = re.sub(r"\\(.)", r"\1", token.text[1:-1]).lower().split()
            return InOrder(tuple(Literal(word, token.line) for word in words))
        if token.kind == "doc":
            return self._item()
        self._at -= 1
        return None

    def _repeated(self, item: Expansion) -> Expansion:
        """The item with the stars, pluses and tags that follow it."""
        while True:
            token = self._peek()
            if token.kind == "tag":
                item = InOrder((item, TagText(re.sub(r"\\(.)", r"\1", token.text[1:-1]).strip())))
            elif token.kind == "mark" and token.text in "*+":
                item = Repeated(item, 0 if token.text == "*" else 1, token.line)
            else:
                return item
            self._at += 1

    def _skip_docs(self) -> Doc:
        """The last documentation comment before the next statement."""
        doc = Doc()
        while self._peek().kind == "doc":
            token = self._next()
            doc = _doc(token.text, token.line)
        return doc

    def _peek(self) -> _Token:
        return self._tokens[self._at] if self._at < len(self._tokens) else self._last

    def _next(self) -> _Token:
        token = self._peek()
        self._at += 1
        return token

    def _take(self, kind: str, what: str) -> _Token:
        token = self._next()
        if token.kind != kind:
            self._fail(token, f"{token.text!r} where {what} must be")
        return token

    def _expect(self, text: str) -> None:
        token = self._next()
        if token.text != text:
            self._fail(token, f"{token.text!r} where {text!r} must be")

    def _fail(self, token: _Token, message: str) -> NoReturn:
        raise grammar_error(self._file, token.line, message)
