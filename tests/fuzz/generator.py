"""Endless typed lines from a seed: what the grammar says, and that bent, broken, joined and buried in rubbish.

Takes a grammar and a seed, gives pairs of the way a line was made and the line; the same for the same seed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from random import Random

from assistant.grammar import Grammar
from assistant.hearing.other_talk import common_words
from tests.fuzz.numbers_in_words import is_number_word

SENTENCES_AT_ONCE = 2_000
LONGEST_LINE = 200_000
ODD_NUMERALS = (
    *(
        "0",
        "00",
        "007",
        "-0",
        "-5",
        "−15",
        "1.5.0",
        "1,5",
        "1,500",
        "1,50,0",
        "1e5",
        "0x10",
        "½",
        "2½",
        "10²",
        "⅓",
        "Ⅻ",
    ),
    *(
        "１５００",
        "١٥٠٠",
        "१५००",
        "1_500",
        "1/0",
        "120/80",
        "94-98",
        "9" * 30,
        "1." + "3" * 40,
        ".5",
        "5.",
        "1500psi",
        "15L",
    ),
    *("1h10", "2.0000000001", "99999", "1000000", "nan", "inf", "-inf", "1 500", "1 500", "+15", "15%", "~15", "#2"),
)
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def lines(grammar: Grammar, seed: int) -> Iterator[tuple[str, str]]:
    """(way, line) for ever."""
    maker = _Maker(grammar, seed)
    ways: tuple[tuple[Callable[[], str], int], ...] = (
        (maker.said, 20), (maker.with_numerals, 20), (maker.with_number_words, 10), (maker.joined, 8),
        (maker.words_bent, 12), (maker.letters_bent, 10), (maker.salad, 6), (maker.number_salad, 6),
        (maker.punctuated, 4), (maker.among_talk, 10), (maker.any_letters, 3), (maker.controls, 1),
    )  # fmt: skip
    chosen = maker.random
    while True:
        if chosen.random() < 0.0002:
            yield "endless", maker.endless()
            continue
        (make,) = chosen.choices([way for way, _ in ways], [weight for _, weight in ways])
        yield make.__name__, make()


class _Maker:
    def __init__(self, grammar: Grammar, seed: int) -> None:
        self.random = Random(seed)
        self._grammar = grammar
        self._words = grammar.words(typed=True)
        self._number_words = [word for word in self._words if is_number_word(word)]
        self._sentences: list[str] = []
        self._talk = sorted(common_words())
        self._examples = [example.sentence for example in (*grammar.examples(), *grammar.nonexamples())]

    def said(self) -> str:
        """A sentence of the grammar, or of its examples."""
        if self.random.random() < 0.1:
            return self.random.choice(self._examples)
        if not self._sentences:
            self._sentences = list(self._grammar.sentences(self.random.getrandbits(32), SENTENCES_AT_ONCE))
        return self._sentences.pop()

    def with_numerals(self) -> str:
        """Each number said, as some numeral."""
        return self._numbers_replaced(self._numeral)

    def with_number_words(self) -> str:
        """Each number said, as other number words."""
        return self._numbers_replaced(lambda: " ".join(self.random.choices(self._number_words, k=self._few())))

    def joined(self) -> str:
        """Several sentences in one breath."""
        return self.random.choice((" ", ", ", " and ", ". ", " no ")).join(self.said() for _ in range(self._few() + 1))

    def among_talk(self) -> str:
        """A sentence or two with other people's words around them."""
        said = (self.random.choice((self.said, self.with_numerals))() for _ in range(self.random.choice((1, 1, 2))))
        return " ".join((self._talked(), *(f"{sentence} {self._talked()}" for sentence in said))).strip()

    def _talked(self) -> str:
        return " ".join(self.random.choices(self._talk, k=self.random.randrange(6)))

    def words_bent(self) -> str:
        """A sentence with words dropped, doubled, exchanged or put in."""
        words = self.said().split()
        for _ in range(self._few()):
            at = self.random.randrange(len(words) + 1)
            change = self.random.randrange(4)
            if change == 0:
                words.insert(at, self.random.choice(self._words))
            elif words[at : at + 1]:
                words[at : at + 1] = ([], words[at : at + 1] * 2, [self.random.choice(self._words)])[change - 1]
        return " ".join(words)

    def letters_bent(self) -> str:
        """A sentence with slips of the finger."""
        letters = list(self.random.choice((self.said, self.with_numerals))())
        for _ in range(self._few()):
            at = self.random.randrange(len(letters) + 1)
            new = self.random.choice(LETTERS + "0123456789 .,")
            letters[at : at + self.random.randrange(2)] = [new] * self.random.randrange(2)
        return "".join(letters)

    def salad(self) -> str:
        """Words of the grammar in no order."""
        return " ".join(self.random.choices(self._words, k=self.random.randrange(1, 40)))

    def number_salad(self) -> str:
        """Number words and numerals in no order, with a beginning that wants a number."""
        few = [self.random.choice((self._numeral, self._number_word))() for _ in range(self.random.randrange(1, 12))]
        begin = self.random.choice(("", "gauge reads", "flow", "sats", "boat in", "target", "temperature", "altitude"))
        return (
            f"{begin} {' '.join(few)} {self.random.choice(('', 'litres', 'psi', 'minutes', 'feet', 'hours'))}".strip()
        )

    def punctuated(self) -> str:
        """Written as people type: capitals, stops, blanks."""
        words = [word.upper() if self.random.random() < 0.2 else word for word in self.with_numerals().split()]
        return "".join(
            word + self.random.choice((" ", " ", ", ", "  ", ". ", "; ", "! ", "? ", "-", "/", ":")) for word in words
        )

    def any_letters(self) -> str:
        """Letters of any script, some in place of a sentence's own."""
        letters = list(self.said())
        for _ in range(self.random.randrange(1, 20)):
            letters.insert(self.random.randrange(len(letters) + 1), self._any_letter())
        return "".join(letters)

    def controls(self) -> str:
        """A sentence with control characters in it, line ends and the end of a string among them."""
        letters = list(self.with_numerals())
        for _ in range(self.random.randrange(1, 10)):
            letters.insert(self.random.randrange(len(letters) + 1), chr(self.random.randrange(32)))
        return "".join(letters)

    def endless(self) -> str:
        """A line far too long."""
        piece = self.random.choice((self.said, self.number_salad, self.salad, self.any_letters))() + self.random.choice(
            " ,x"
        )
        return (piece * (LONGEST_LINE // len(piece) + 1))[: self.random.randrange(1000, LONGEST_LINE)]

    def _numbers_replaced(self, new: Callable[[], str]) -> str:
        found: list[str] = []
        inside = False
        for word in self.said().split():
            number = is_number_word(word)
            if not number:
                found.append(word)
            elif not inside:
                found.append(new())
            inside = number
        return " ".join(found)

    def _numeral(self) -> str:
        kind = self.random.randrange(10)
        if kind == 0:
            return self.random.choice(ODD_NUMERALS)
        if kind == 1:
            return f"{self.random.uniform(0, 3000):.{self.random.randrange(1, 4)}f}"
        return str(
            self.random.choice((self.random.randrange(20), self.random.randrange(100), self.random.randrange(4000)))
        )

    def _number_word(self) -> str:
        return self.random.choice(self._number_words)

    def _any_letter(self) -> str:
        planes: Sequence[tuple[int, int]] = (
            (0x80, 0x250),
            (0x300, 0x370),
            (0x600, 0x700),
            (0x2000, 0x2200),
            (0x1F300, 0x1F700),
            (0xD800, 0xDFFF),
            (0x110000 - 0x1000, 0x110000),
        )
        return chr(self.random.randrange(*self.random.choice(planes)))

    def _few(self) -> int:
        return self.random.choice((1, 1, 1, 2, 2, 3, 4))
