"""The command line: each command parses, calls one action, and prints.

`main` is the program's entry point. Nothing heavy is imported before a command runs.
"""

from scrapstore.cli.app import main

__all__ = ["main"]
