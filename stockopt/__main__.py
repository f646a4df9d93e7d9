"""``python -m stockopt``."""

from stockopt.cli.main import main

if __name__ == "__main__":
    main(prog_name="stockopt")
