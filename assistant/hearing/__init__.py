"""Ears: audio in, utterances out."""
