"""Print the command that the README gives under a mark such as ``<!-- command: tests -->``."""

import re
import sys
from pathlib import Path

README = Path(__file__).parent.parent / "README.md"


def command(name: str) -> str:
    """Return the fenced shell block that follows the mark; exit with a message if there is none."""
    mark = rf"<!-- command: {re.escape(name)} -->\s*```sh\n(.*?)```"
    found = re.search(mark, README.read_text("utf-8"), re.DOTALL)
    if found is None:
        sys.exit(f"README.md has no shell block under the mark 'command: {name}'")
    return found.group(1).strip()


if __name__ == "__main__":
    sys.stdout.write(command(sys.argv[1]) + "\n")
