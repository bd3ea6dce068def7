"""What can be wrong with a log, said in a sentence."""


class LogError(ValueError):
    """A log the fit cannot read; the message says what is wrong and what to put instead."""
