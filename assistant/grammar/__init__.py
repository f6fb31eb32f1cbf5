"""One JSGF grammar, and from it the match, the recogniser graph, phrase list, help and sentences. Pure."""
