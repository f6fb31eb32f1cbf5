"""How cost grows: grammar ×1, ×4, ×16; journal ×1 to ×1000; patients 1 to 20; utterance 1 to 60 s. Prints tables.

usage: python tests/benchmarks/growth.py [--only grammar|journal|patients|speech]

Behind each figure stands how many times the first row's it is. Milliseconds are processor time of this process, so
that other work on the machine does not count, but for appending, which waits for the disk. A grammar is made larger by
copies of itself in which every word and rule has another name. Hearing is held against vosk's free dictation of the
same sound.
"""

from __future__ import annotations

import argparse
import re
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from time import perf_counter, process_time

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parent / "speech"))

from assistant import shelf
from assistant.app import kit_from, setting_for
from assistant.dialogue.turn import take_turn
from assistant.grammar import Grammar, load_grammar
from assistant.incident.log import Incident
from assistant.incident.watch import due_alerts, next_due_s
from assistant.journal import Journal
from assistant.meaning.names import slots
from assistant.meaning.typed import typed
from tests.benchmarks.journal.speed import events

SPECIAL = ("NULL", "VOID", "numeral", "anything")
_PIECE = re.compile(
    r"/\*.*?\*/|//[^\n]*|#JSGF[^\n]*|^grammar \w+;|^import <\w+\.\*>;|<\w+>|\{[^}]*\}|/[\d.]+/|[a-z][a-z0-9']*",
    re.S | re.M,
)
DEMO = Path(__file__).parents[2] / "audio_samples" / "demo"


def copied(text: str, copy: int) -> str:
    """The grammar file with every rule and word named anew; special rules stay those of the first copy."""

    def renamed(found: re.Match[str]) -> str:
        piece = found.group()
        if piece.startswith(("/", "{", "#")) or piece == "public":
            return "" if piece.startswith("/*") else piece
        if piece.startswith("grammar"):
            return f"grammar {piece.split()[1].rstrip(';')}{copy};\nimport <numbers.*>;\nimport <answers.*>;"
        if piece.startswith("import"):
            return piece.replace(".*>", f"{copy}.*>")
        if piece.startswith("<"):
            return piece if piece[1:-1] in SPECIAL else f"<{piece[1:-1]}_{copy}>"
        return f"{piece}{'qxz'[copy % 3]}{copy}"

    lines = [line for line in _PIECE.sub(renamed, text).splitlines() if not _declares_special(line)]
    return "\n".join(lines)


def _declares_special(line: str) -> bool:
    return bool(re.match(r"(?:public )?<(?:numeral|anything)> =", line))


def grown(times: int) -> Grammar:
    """The shipped grammar and `times` - 1 copies beside it."""
    texts, own_slots = dict(shelf.grammar_texts()), dict(slots(kit_from(None)))
    filled = dict(own_slots)
    for copy in range(2, times + 1):
        for name, text in shelf.grammar_texts().items():
            texts[f"copy{copy}-{name}"] = copied(text, copy)
        filled |= {f"{slot}_{copy}": [f"{word}q{copy}" for word in words] for slot, words in own_slots.items()}
    others = "".join(f" | <utterance_{copy}>" for copy in range(2, times + 1))
    imports = "".join(f"import <main{copy}.*>;\n" for copy in range(2, times + 1))
    root = f"#JSGF V1.0 UTF-8 en;\ngrammar grown;\nimport <main.*>;\n{imports}public <grown> = <utterance>{others};\n"
    return load_grammar({**texts, "grown.jsgf": root}, filled, root="grown")


def grammar_rows() -> Iterator[Sequence[str]]:
    yield ("grammar", "words", "load, ms", "an utterance, ms", "acceptor, s", "its states")
    said = [sentence.split() for sentence in grown(1).sentences(1, 400)]
    for times in (1, 4, 16):
        load_ms, grammar = _timed_ms(lambda times=times: grown(times))
        grammar.parse(said[0])
        parse_ms, _ = _timed_ms(lambda grammar=grammar: [grammar.parse(words) for words in said])
        build_ms, acceptor = _timed_ms(grammar.acceptor)
        cells = (len(grammar.words()), f"{load_ms:.0f}", f"{parse_ms / len(said):.2f}", f"{build_ms / 1000:.1f}")
        yield (f"× {times}", *map(str, cells), f"{acceptor.state_count}")


def journal_rows() -> Iterator[Sequence[str]]:
    yield ("events", "open, ms", "append one, ms (with fsync)", "fold, ms", "a correction, ms", "file, MB")
    kit = kit_from(None)
    for count in (100, 1_000, 10_000, 100_000):
        stored = events(count)
        with tempfile.TemporaryDirectory() as folder:
            journal = Journal.create(Path(folder))
            journal.append(stored)
            journal.close()
            open_ms, journal = _timed_ms(lambda journal=journal: Journal.open(journal.path))
            appends = []
            for event in stored[:50]:
                began = perf_counter()
                journal.append([event])
                appends.append(perf_counter() - began)
            size_mb = journal.path.stat().st_size / 1e6
            journal.close()
        fold_ms, incident = _timed_ms(lambda stored=stored: Incident(kit, stored))
        undo_ms = _corrected_ms(incident)
        append_ms = 1000 * sorted(appends)[len(appends) // 2]
        yield (f"{count}", f"{open_ms:.0f}", f"{append_ms:.2f}", f"{fold_ms:.0f}", f"{undo_ms:.0f}", f"{size_mb:.1f}")


def _corrected_ms(incident: Incident) -> float:
    """The second of two corrections: the first after a resuming folds the whole."""
    setting = setting_for(kit_from(None))
    for line in ("sats 91", "correction sats 92"):
        incident.append(take_turn(incident, typed(line, setting.grammar), incident.state.at_s + 1, setting).events)
    said = typed("correction sats 93", setting.grammar)
    taken_ms, _ = _timed_ms(lambda: take_turn(incident, said, incident.state.at_s + 1, setting))
    return taken_ms


def patient_rows() -> Iterator[Sequence[str]]:
    yield ("patients, a cylinder each", "a turn, ms", "what is due, ms")
    setting = setting_for(kit_from(None))
    said = typed("sats 95, gauge reads 1400", setting.grammar)
    for count in (1, 2, 5, 10, 20):
        incident = Incident(setting.kit)
        for patient in range(1, count + 1):
            for line in (
                f"changed to cylinder {patient} for patient {patient}",
                f"patient {patient}, small cylinder, gauge reads 1500",
                f"4 litres for patient {patient}",
                f"sats 94 for patient {patient}",
            ):
                at_s = incident.state.at_s + 1
                incident.append(take_turn(incident, typed(line, setting.grammar), at_s, setting).events)
        at_s = incident.state.at_s + 60
        turn_ms, _ = _timed_ms(lambda i=incident, a=at_s: [take_turn(i, said, a, setting) for _ in range(20)])
        due_ms, _ = _timed_ms(lambda i=incident, a=at_s: [_due(i, a, setting.kit) for _ in range(20)])
        yield (f"{len(incident.state.patients)}", f"{turn_ms / 20:.1f}", f"{due_ms / 20:.1f}")


def _due(incident: Incident, at_s: float, kit: object) -> object:
    return next_due_s(incident.state, kit), due_alerts(incident.state, kit, at_s)  # type: ignore[arg-type]


def speech_rows() -> Iterator[Sequence[str]]:
    import numpy as np
    from ears import ListedVosk

    from assistant.hearing.find_model import vosk_model
    from assistant.hearing.recogniser import open_recogniser
    from assistant.hearing.wav import read_wav

    yield (
        *("utterance, s", "hearing, ms", "understanding, ms", "most memory so far, MB"),
        *("free dictation, ms", "hearing, of free dictation"),
    )
    setting = setting_for(kit_from(None))
    ears, freely = open_recogniser("vosk", setting.grammar), ListedVosk(vosk_model(None), None)
    spoken = np.concatenate([read_wav(path) for path in sorted(DEMO.glob("*.wav"))] * 3)
    take_turn(Incident(setting.kit), ears.hear(spoken[:16_000]), 1.0, setting)
    freely.hear(spoken[:16_000])
    for seconds in (1, 3, 10, 30, 60):
        hear_ms, heard = _timed_ms(lambda s=seconds: ears.hear(spoken[: 16_000 * s]))
        incident = Incident(setting.kit)
        turn_ms, _ = _timed_ms(lambda h=heard, i=incident: take_turn(i, h, 1.0, setting))
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        free_ms, _ = _timed_ms(lambda s=seconds: freely.hear(spoken[: 16_000 * s]))
        cells = (f"{hear_ms:.0f}", f"{turn_ms:.1f}", f"{peak_mb:.0f}", f"{free_ms:.0f}")
        yield (f"{seconds}", *cells, f"× {hear_ms / free_ms:.2f}")


def _timed_ms(work: Callable[[], object]) -> tuple[float, object]:
    began = process_time()
    made = work()
    return 1000 * (process_time() - began), made


ROWS = {"grammar": grammar_rows, "journal": journal_rows, "patients": patient_rows, "speech": speech_rows}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", choices=ROWS)
    options = parser.parse_args()
    if options.only is None:
        for name in ROWS:  # each in a process of its own, so that the memory of one is not another's
            subprocess.run([sys.executable, __file__, "--only", name], check=True)
        return
    head, *found = ROWS[options.only]()
    print("| " + " | ".join(head) + " |\n|" + " ---: |" * len(head))
    print("\n".join("| " + " | ".join(_beside(row, found[0])) + " |" for row in found), end="\n\n", flush=True)


def _beside(row: Sequence[str], first: Sequence[str]) -> Iterator[str]:
    """The cells, each but the row's name and what is a ratio already with how many times the first row's it is."""
    yield row[0]
    for cell, one in zip(row[1:], first[1:], strict=True):
        yield cell if row is first or cell.startswith("×") or not float(one) else f"{cell} (× {_times(cell, one)})"


def _times(cell: str, one: str) -> str:
    return f"{float(cell) / float(one):.2g}" if float(cell) < 100 * float(one) else f"{float(cell) / float(one):.0f}"


if __name__ == "__main__":
    main()
