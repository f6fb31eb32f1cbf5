"""Run as a program of its own: which number a vosk model gives to each word, -1 for a word that it lacks.

Usage: vosk_words.py MODEL_FOLDER; takes a JSON list of words on standard input, prints a JSON object.
"""

from __future__ import annotations

import json
import sys


def main() -> None:
    import vosk

    vosk.SetLogLevel(-1)
    model = vosk.Model(sys.argv[1])
    json.dump({word: model.vosk_model_find_word(word) for word in json.load(sys.stdin)}, sys.stdout)


if __name__ == "__main__":
    main()
