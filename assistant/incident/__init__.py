"""An incident: dated facts, the state folded from them, the watch over the supply, and procedures."""
