"""knitlog: a knitter's journal that keeps the colours of hand-painted yarn stacking.

The way in for a notebook or another program; all of it is part of the measuring contract and
stays as it is (DEVELOPERS.md)::

    import knitlog

    log = knitlog.read("log.csv")
    fitted = knitlog.fit(log)
    print(fitted.drift.mean, fitted.drift.low95, fitted.drift.high95)
    print(knitlog.advise(log).recommended.remedy)

The rooms, from the ground up (arrows run downward only):

- ``yarn``: units, needles, gauge, geometry, the colour run - pure
- ``drift``: the drift model and its fit - pure
- ``advice``, ``plan``: what to do about it; how to begin - pure
- ``hands``: what the finished projects say of the knitter - pure
- ``typed``: one reader of what is typed - pure
- ``journal``: the events, the file, CSV in and out - alone touches disk
- ``analysis``: puts journal, past, fit and advice together for whoever shows them
- ``report``: says it: every sentence, table, JSON object and page
- ``tui``, ``cli``: translate, nothing more

Nothing heavy is loaded before it is asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from os import PathLike
    from typing import TextIO

    from knitlog.advice import Advice
    from knitlog.drift import DriftFit, DriftLog
    from knitlog.journal.project import ProjectState

__version__ = "0.1.0"
__all__ = ["Advice", "DriftFit", "DriftLog", "ProjectState", "advise", "fit", "read"]

_FROM = {
    "Advice": "knitlog.advice",
    "DriftFit": "knitlog.drift",
    "DriftLog": "knitlog.drift",
    "ProjectState": "knitlog.journal.project",
}


def read(
    source: str | PathLike[str] | TextIO, facts: Mapping[str, str] | None = None
) -> ProjectState:
    """Read a journal or a CSV log, whichever it is, as a project's state.

    Args:
        source: the path of a file, or an open text stream.
        facts: what the file does not tell or has wrong, by the names of the options without
            dashes, as typed: ``{"stitches": "96", "repeat-length": "60in"}``.

    Returns:
        The project: ``entries`` (rounds, in stitches as she counts them), ``facts`` (mm and
        stitches), ``stints``, ``fixes``; ``problems`` tells what could not be used.

    Raises:
        ValueError: it cannot be read; the message is one plain sentence.

    """
    from pathlib import Path

    from knitlog.analysis.files import read_log_file, read_log_text

    if isinstance(source, str) or hasattr(source, "__fspath__"):
        return read_log_file(Path(source), facts)
    return read_log_text(source.read(), facts)


def fit(log: ProjectState | DriftLog) -> DriftFit:
    """Fit the drift of what :func:`read` gave, or of a :class:`DriftLog` made by hand.

    Returns:
        ``drift`` (stitches a round, + is past), ``offset`` (stitches), ``yarn_per_stitch_mm``
        and more, each with ``mean``, ``sd``, ``low95`` and ``high95``; ``path`` (offset of the
        rounds logged, arrays of one length), ``drift_path``, ``forecast(n)`` and
        ``expected(n)`` (arrays of shape (n,)).

    Raises:
        ValueError: it cannot be fitted; the message is one plain sentence.

    """
    from knitlog.analysis.analysis import drift_log
    from knitlog.drift import fit as fitted

    return fitted(drift_log(log))


def advise(log: ProjectState | DriftLog, *, seed: int = 0, **known: Any) -> Advice:
    """Say what to do about the drift, as ``knitlog advise`` does.

    Args:
        log: what :func:`read` gave, or a :class:`DriftLog` made by hand.
        seed: the same seed gives the same answer to the last digit.
        **known: what the log does not tell, or has otherwise, by the names of
            :class:`knitlog.advice.Situation`: ``needles_owned_mm`` (mm), ``tolerance``
            (stitches), ``rounds_planned``, ``multiple`` (0 where the count is fixed), ``costs``.

    Returns:
        ``recommended`` and ``options``, each with ``remedy``, ``details`` (numbers, the unit in
        each name), ``share_in_tolerance`` (0 to 1), ``expected_fixes`` and ``minutes``.

    Raises:
        ValueError: it cannot be fitted or advised on; the message is one plain sentence.

    """
    from knitlog.analysis.analysis import advise_on

    return advise_on(log, seed=seed, **known)


def __getattr__(name: str) -> Any:
    if name not in _FROM:
        raise AttributeError(f"module 'knitlog' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_FROM[name]), name)
