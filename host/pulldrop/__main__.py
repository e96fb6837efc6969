"""`python -m pulldrop`: the same as the command `pulldrop`."""

from pulldrop.cli.main import run

if __name__ == "__main__":
    run()
