"""Mouth: replies as speech."""
