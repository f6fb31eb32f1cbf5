"""The commands of `oxygen-assistant`, one module each: its arguments, and what it runs."""
