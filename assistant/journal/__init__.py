"""The incident journal on disk."""
