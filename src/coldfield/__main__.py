"""Run the command line with ``python -m coldfield``."""

from coldfield.cli.main import main

if __name__ == "__main__":
    main()
