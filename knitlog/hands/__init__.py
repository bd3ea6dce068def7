"""My hands: what the finished projects say of the knitter who made them.

Each finished project is boiled down to plain records (:func:`look_back`), the records of
all of them are pooled (:func:`learn`), and what comes out is used before the next project
has said anything: as the prior of its fit, as yarn per stitch for its plan, as how far a
fix of hers tends to miss.  A new project with a new yarn borrows from the old ones; it does
not copy them, and the spread says so.
"""
