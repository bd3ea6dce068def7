"""What is typed: one reader for the command line, the forms of the screens and CSV files.

A number, a length, a needle or an entry is read the same way wherever it is typed, and what
will not do is answered with one sentence: what was wrong and what to type.  Pure functions
of the text; every error is a :class:`~knitlog.typed.text.TypedError`.

    text        text that is safe to show
    numbers     numbers, halves, lists, yes and no; numbers written so that they read back
    measures    lengths, weights, needles, gauge, multiples, and what she measures in
    entry       what is typed for one round
"""
