"""The journal: events, the append-only file, and CSV in and out."""
