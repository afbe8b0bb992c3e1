"""Where the program's colour words and people's differ.

``python -m tests.benchmarks.colour_confusion`` prints, as Markdown, the agreement with the xkcd
survey's names (fitted part, held-out part, all) and with the CSS names, and the table of which word
people used (down) against which the program uses (across) on the whole survey.
"""

from tests.support.colour_names import (
    agreement,
    confusion_table,
    held_out,
    survey,
    web_names,
)


def main() -> None:
    named = survey()
    fitted = [colour for colour in named if not held_out(colour)]
    kept = [colour for colour in named if held_out(colour)]
    print("| names | count | agreement |\n|---|---|---|")
    for title, colours in (
        ("xkcd survey, fitted part", fitted),
        ("xkcd survey, held-out part", kept),
        ("xkcd survey, all", named),
        ("CSS level 4, never fitted", web_names()),
    ):
        print(f"| {title} | {len(colours)} | {100 * agreement(colours):.1f} % |")
    print()
    print(confusion_table(named))


if __name__ == "__main__":
    main()
