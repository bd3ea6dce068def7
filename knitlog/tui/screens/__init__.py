"""The screens, one a file: each gathers input, calls the rooms below, shows the answer."""
