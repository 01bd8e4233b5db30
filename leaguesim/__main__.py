"""``python -m leaguesim``: the command line, as ``leaguesim``."""

from leaguesim.cli.main import run

if __name__ == "__main__":
    run()
