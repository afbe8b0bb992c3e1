"""Where the program's colour words and people's differ.

``python -m tests.benchmarks.colour_confusion`` prints, as Markdown, what ``guide colours`` shows:
the agreement with the xkcd survey's names (fitted part, held-out part, all) and with the CSS names,
and the table of which word people used against which the program uses, on the whole survey.
"""

from tests.support.colour_names import agreement_table, confusion_table, survey


def main() -> None:
    print(f"{agreement_table()}\n\n{confusion_table(survey())}")


if __name__ == "__main__":
    main()
