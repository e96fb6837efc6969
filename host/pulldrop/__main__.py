"""The command `pulldrop`, and `python -m pulldrop`. Rule: Ctrl-C before anything has begun ends it without a word."""

import signal


def start() -> None:
    """Entry point."""
    heard = signal.getsignal(signal.SIGINT) is signal.default_int_handler  # not where a shell has it ignored
    if heard:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from pulldrop.cli.main import run

    if heard:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    run()


if __name__ == "__main__":
    start()
