"""What the hands room raises."""


class HandsError(ValueError):
    """A record that cannot be; the message is one sentence for the knitter."""
