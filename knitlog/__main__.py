"""The installed ``knitlog`` command; ``python -m knitlog`` does the same."""

import os
import signal


def main() -> None:
    """Run the command line.

    Ctrl-C ends it there and then, as it would a program in C: what is logged is safe whenever
    it is killed, and Python's own way, an error raised anywhere, shows a traceback where it
    falls into an import or the last lines of the interpreter.
    """
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    # the matrices are small: a second thread of linear algebra costs twice the processor's time
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from knitlog.cli import main as command_line

    command_line()


if __name__ == "__main__":
    main()
