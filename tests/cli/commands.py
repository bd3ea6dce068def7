"""Every command of the command line."""

import click

from knitlog.cli import cli


def all_commands() -> dict[str, click.Command]:
    """Every command by its name; loads them all."""
    with click.Context(cli) as ctx:
        found = {name: cli.get_command(ctx, name) for name in cli.list_commands(ctx)}
    return {name: command for name, command in found.items() if command is not None}
