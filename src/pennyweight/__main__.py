"""Let ``python -m pennyweight`` do what the ``pennyweight`` command does."""

from pennyweight.cli.cli import main

if __name__ == "__main__":
    main()
