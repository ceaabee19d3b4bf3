"""The start of the single file: the demo if there are no arguments, as after a double click."""

from __future__ import annotations

import multiprocessing
import sys

from coldfield.cli.main import main

if __name__ == "__main__":
    multiprocessing.freeze_support()
    if len(sys.argv) == 1:
        sys.argv.append("demo")
    main()
