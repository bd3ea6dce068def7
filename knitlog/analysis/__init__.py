"""From what the knitter logged to what there is to know: one look at a project.

The screens, the command line, the pages and the root API all ask here, so that they cannot
tell her different things: :func:`analyse` puts a project's state and her past together, fits
the drift, asks for advice and looks at the round to come; :func:`advised` adds the advice to a
look that was shown without.  Nothing is printed, drawn or said in words; the heavy rooms (fit
and advice) are only imported when there is something to fit, so that logging a round stays
quick.
"""
