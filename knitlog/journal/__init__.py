"""The journal: events, the append-only file, and CSV in and out.

See ``README.md`` beside this file for the signatures in one place, each under the module it is
imported from: logging a round must not wait for what reads a spreadsheet.
"""
