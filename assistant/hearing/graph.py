"""Turns the grammar's acceptor into a derived vosk model folder in the cache: the model with a Gr.fst of ours.

Refuses words that the model lacks. Built once for a grammar and a model, then found by its key.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from assistant.hearing.cache import cache_folder, keep_newest, whole_folder
from assistant.hearing.errors import HearingError, UnknownWordsError
from assistant.hearing.model_folder import NEEDED, fingerprint
from assistant.hearing.other_talk import (
    BACKGROUND_WORDS,
    COMMON_WORDS,
    MORE_TALK_COST,
    TALK_COST,
    UNKNOWN_COST,
    common_words,
    spread,
)
from assistant.hearing.recogniser import UNKNOWN, AcceptorLike, SpokenGrammar

# Raised when this module writes the folder differently, so that older folders are not taken for it.
LAYOUT = 5
BACKGROUND = "background.json"
KEPT_FOLDERS = 6
CHILD_MAY_TAKE_S = 120.0
REPLACED = ("graph/Gr.fst", "conf/model.conf", "conf/mfcc.conf")
# Without it vosk does not align words in time, which nobody needs and which warns at every unfinished sentence.
LEFT_OUT = ("graph/phones/word_boundary.int",)
SETTINGS = (
    # Rival readings die within a beam of 2, the model's own setting; 6 keeps ten of them apart at little cost.
    ("conf/model.conf", "lattice-beam", "6.0"),
    # Kaldi's own random noise would make each hearing different; pcm.py adds the same amount, always the same.
    ("conf/mfcc.conf", "dither", "0.0"),
    # The best path's own silence is told after three frames of it: in wind it is known when loudness tells nothing.
    # Endpointing is ours (endpointing.py), so that nothing ends by this. Chunks of 9 frames in place of 20, for it to
    # be known 0.1 s sooner, take a third more of the processor.
    ("conf/model.conf", "endpoint.rule4.min-trailing-silence", "0.09"),
    ("conf/model.conf", "frames-per-chunk", "9"),
)

Places = Mapping[str, tuple[str, int]]


def derived_model(grammar: SpokenGrammar, model: Path, talk_cost: float = TALK_COST) -> Path:
    """The derived model folder for this grammar and vosk model, built if it is not in the cache yet.

    `talk_cost` is what it costs to take an utterance for other people's talk.

    Raises UnknownWordsError with grammar file and line, HearingError when the graph cannot be built.
    """
    folder = cache_folder() / "graphs" / _key(grammar, model, talk_cost)
    if not _usable(folder):
        build(grammar, model, folder, talk_cost)
    os.utime(folder)
    keep_newest(folder.parent, KEPT_FOLDERS)
    return folder


def build(grammar: SpokenGrammar, model: Path, folder: Path, talk_cost: float = TALK_COST) -> None:
    """Writes the derived folder; it appears whole or not at all."""
    sounds = grammar.sounds()
    lent = {other for others in sounds.values() for other in others}
    talk = {word: cost for word, cost in common_words().items() if word not in lent}
    parts = {part for other in lent for part in other.split()}
    with ThreadPoolExecutor(1) as beside:  # it waits for a process of its own, in which the model is opened
        said = {UNKNOWN, *grammar.words()}.difference(sounds)
        asked = beside.submit(word_numbers, said, {*talk, *parts, *sounds}, model, grammar.word_places())
        acceptor = grammar.acceptor()
        numbers = asked.result()
    known = {word: cost for word, cost in talk.items() if word in numbers}
    graph = spread(acceptor, known, talk_cost)
    ways, named = _ways(sounds, numbers)
    if missing := set(grammar.words()).difference(ways):
        raise UnknownWordsError("vosk", sorted(missing), grammar.word_places())
    with whole_folder(folder) as filling:
        for file in NEEDED:
            (filling / file).parent.mkdir(parents=True, exist_ok=True)
            if file not in (*REPLACED, *LEFT_OUT):
                _share(model / file, filling / file)
        for file in dict.fromkeys(file for file, _, _ in SETTINGS):
            (filling / file).write_text(_configured((model / file).read_text(), file))
        (filling / "graph" / "words.txt").write_text(_word_table(named), encoding="utf-8")
        _compile(graph, ways, named, filling / "graph" / "Gr.fst")
        (filling / BACKGROUND).write_text(json.dumps(_commonest(talk, numbers)), encoding="utf-8")


def _commonest(talk: Mapping[str, float], numbers: Mapping[str, int]) -> list[str]:
    """What the background is decoded with: the commonest words that the model has, and any other."""
    known = sorted((word for word in talk if word in numbers), key=talk.__getitem__)
    return [*known[:BACKGROUND_WORDS], UNKNOWN]


def _ways(
    sounds: Mapping[str, tuple[str, ...]], numbers: Mapping[str, int]
) -> tuple[dict[str, list[list[int]]], dict[str, int]]:
    """What the recogniser listens for in place of each word, a list of numbers for every way to say it, its own first;
    and the names of the derived model with their numbers.

    A word that the model lacks but that sounds like others it has gets a number of its own.
    """
    named = dict(numbers)
    ways: dict[str, list[list[int]]] = {word: [[number]] for word, number in numbers.items()}
    for word, others in sounds.items():
        alike = [[numbers[part] for part in other.split()] for other in others if set(other.split()) <= numbers.keys()]
        if alike and word not in named:
            named[word] = 1 + max(named.values())
        if word in named:
            ways[word] = [*ways.get(word, ()), *alike]
    return ways, named


def word_numbers(said: Iterable[str], talk: Iterable[str], model: Path, places: Places) -> dict[str, int]:
    """The model's number for each word; one of `talk` that it lacks is left out, one of `said` UnknownWordsError."""
    needed = set(said)
    numbers: dict[str, int] = json.loads(_child("vosk_words.py", str(model), given=sorted(needed.union(talk))))
    if missing := [word for word in needed if numbers[word] < 0]:
        raise UnknownWordsError("vosk", missing, places)
    return {word: number for word, number in numbers.items() if number >= 0}


def _key(grammar: SpokenGrammar, model: Path, talk_cost: float) -> str:
    here = f"{LAYOUT} {SETTINGS} {COMMON_WORDS} {BACKGROUND_WORDS} {talk_cost} {MORE_TALK_COST} {UNKNOWN_COST}"
    return hashlib.sha256(f"{here} {grammar.digest} {fingerprint(model)}".encode()).hexdigest()[:24]


def _usable(folder: Path) -> bool:
    return all((folder / file).is_file() for file in {*NEEDED, "graph/words.txt", BACKGROUND}.difference(LEFT_OUT))


def _share(original: Path, place: Path) -> None:
    """A symbolic link, or a copy where the file system or the user's rights do not allow one."""
    try:
        place.symlink_to(original.resolve())
    except (OSError, NotImplementedError):
        shutil.copyfile(original, place)


def _configured(conf: str, file: str) -> str:
    for name, option, value in SETTINGS:
        if name == file:
            conf = _with_option(conf, option, value)
    return conf


def _with_option(conf: str, option: str, value: str) -> str:
    line = f"--{option}={value}"
    changed, count = re.subn(rf"^--{option}=.*$", line, conf, flags=re.MULTILINE)
    return changed if count else f"{conf.rstrip()}\n{line}\n"


def _word_table(numbers: Mapping[str, int]) -> str:
    rows = sorted([("<eps>", 0), *numbers.items()], key=lambda row: row[1])
    return "".join(f"{word} {number}\n" for word, number in rows)


Arc = tuple[int, int, int, float, int]
"""From which state, the number that is listened for and the one that is written (0 for none), the cost, to which."""


def _compile(
    acceptor: AcceptorLike, ways: Mapping[str, list[list[int]]], named: Mapping[str, int], target: Path
) -> None:
    given = {
        "arcs": list(_numbered(acceptor, ways, named)),
        "start": acceptor.start,
        "finals": list(acceptor.finals.items()),
    }
    _child("graph_compiler.py", str(target), given=given)


def _numbered(acceptor: AcceptorLike, ways: Mapping[str, list[list[int]]], named: Mapping[str, int]) -> Iterator[Arc]:
    """An arc for each way to say a word; one of several words goes through states of its own, and is written first."""
    free = 1 + max(max(origin, end) for origin, _, _, end in acceptor.arcs)
    for origin, word, cost, end in acceptor.arcs:
        written = named[word] if word else 0
        for first, *more in ways[word] if word else [[0]]:
            stops = [origin, *range(free, free + len(more)), end]
            free += len(more)
            yield origin, first, written, cost, stops[1]
            yield from ((stops[at], number, 0, 0.0, stops[at + 1]) for at, number in enumerate(more, 1))


def _child(program: str, argument: str, *, given: Any) -> str:
    """Runs one of the two programs beside this module; they import nothing of this package."""
    command = [sys.executable, str(Path(__file__).with_name(program)), argument]
    try:
        done = subprocess.run(
            command, input=json.dumps(given), capture_output=True, text=True, timeout=CHILD_MAY_TAKE_S, check=False
        )
    except subprocess.TimeoutExpired:
        raise HearingError(f"{program} took longer than {CHILD_MAY_TAKE_S:.0f} seconds") from None
    if done.returncode != 0:
        last = done.stderr.strip().splitlines()[-1:] or [f"status {done.returncode}"]
        raise HearingError(f"the sentence graph cannot be built: {last[0]}")
    return done.stdout
