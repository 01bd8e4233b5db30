"""``python -m leaguesim``: the command line, as ``leaguesim``."""

import sys

from leaguesim.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
