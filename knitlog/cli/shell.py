"""Shell completion: the line that switches it on, for the shells click knows."""

import click

_LINES = {
    "bash": ("~/.bashrc", 'eval "$(_KNITLOG_COMPLETE=bash_source knitlog)"'),
    "zsh": ("~/.zshrc", 'eval "$(_KNITLOG_COMPLETE=zsh_source knitlog)"'),
    "fish": (
        "~/.config/fish/completions/knitlog.fish",
        "_KNITLOG_COMPLETE=fish_source knitlog | source",
    ),
}


@click.command("completion")
@click.argument("shell", type=click.Choice(sorted(_LINES)))
def completion(shell: str) -> None:
    """Print the line that lets the Tab key finish what you type.

    It finishes commands, options and the names of your projects.

    \b
    Examples:
      knitlog completion bash >> ~/.bashrc
      knitlog completion zsh >> ~/.zshrc
      knitlog completion fish > ~/.config/fish/completions/knitlog.fish
    """
    place, line = _LINES[shell]
    click.echo(f"# knitlog: this line belongs in {place}")
    click.echo(line)
