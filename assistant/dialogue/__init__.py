"""From a meaning to a decision, events and the words of a reply. Pure."""
