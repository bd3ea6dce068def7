"""``python -m knitlog`` does what the ``knitlog`` command does."""

from knitlog.cli import main

if __name__ == "__main__":
    main()
