"""``python -m scrapstore``: the program, where its command is not on the path."""

from scrapstore.cli import main

if __name__ == "__main__":
    main()
