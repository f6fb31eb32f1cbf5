"""A conversation in real time: threads for the passing of time, the voice and the ears around one session."""
