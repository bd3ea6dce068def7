"""The terminal app."""
