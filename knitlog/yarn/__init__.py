"""The yarn: units, needles, gauge, geometry and the colour run.

Plain floats and the standard library only, so anything may import it cheaply.
"""


class YarnError(ValueError):
    """Something about the yarn, needle or gauge makes no sense as given.

    Its text is one sentence that says what was wrong and what to type instead.
    """
