"""Sentences on a terminal, broken at words; light, for every command says some.

Does not know what is said.
"""

import re

from rich.console import Console
from rich.text import Text

_SHARE = re.compile(r"(?<=\d) (?=%)")
GLUE = "\ue000"  # stands for a space at which no line is broken; in no text of ours


def say_on(console: Console, line: str, style: str = "") -> None:
    """A line broken at words; a number and its per cent sign stay together."""
    glued = Text(_SHARE.sub(GLUE, line))
    for part in glued.wrap(console, console.width):
        console.print(Text(part.plain.replace(GLUE, " ").rstrip(), style=style), soft_wrap=False)
