"""From what the knitter logged to what she should know: one look at a project.

The screens and the command line both ask here, so that they cannot tell her
different things: :func:`look` folds a project's state into the drift log, fits
it, asks for advice and says the verdict in one sentence.  Nothing is printed
and nothing is drawn; the heavy rooms (fit and advice) are only imported when
there is something to fit, so that logging a round stays quick.
"""

from knitlog.workbench.counted_at import WorkMinutes, costs_of, counted_at
from knitlog.workbench.files import import_log, read_log_file
from knitlog.workbench.last_time import remedy_last_time
from knitlog.workbench.odd_entries import doubt
from knitlog.workbench.one_look import Look, look, situation
from knitlog.workbench.samples import lay_out_samples, samples
from knitlog.workbench.verdicts import Question, Tone, questions, verdict

__all__ = [
    "Look",
    "Question",
    "Tone",
    "WorkMinutes",
    "costs_of",
    "counted_at",
    "doubt",
    "import_log",
    "lay_out_samples",
    "look",
    "questions",
    "read_log_file",
    "remedy_last_time",
    "samples",
    "situation",
    "verdict",
]
