"""knitlog: a knitter's journal that keeps the colours of hand-painted yarn stacking.

The rooms, from the ground up (arrows run downward only):

- ``yarn``: units, needles, gauge, geometry, the colour run - pure
- ``drift``: the drift model and its fit - pure
- ``advice``, ``plan``: what to do about it; how to begin - pure
- ``simulate``: knitters that never lived, seeded - pure
- ``journal``: the events, the file, CSV in and out - alone touches disk
- ``workbench``: puts a journal, a fit and the advice together for whoever shows them
- ``report``: the finished project's page
- ``tui``, ``cli``: translate, nothing more
"""

__version__ = "0.1.0"
