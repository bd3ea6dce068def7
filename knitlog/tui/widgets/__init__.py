"""The parts of the screens, one a file."""
