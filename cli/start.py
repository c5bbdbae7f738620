"""Where the command begins: before anything else is imported, Ctrl-C ends it as it does later."""

from __future__ import annotations

BROKEN_OFF = 130  # by Ctrl-C, as a shell says it


def start() -> int:
    """Run the command; the exit code."""
    try:
        from .main import main

        return main()
    except KeyboardInterrupt:
        # while modules are read: there is nothing yet that was said, or is to be put back
        return BROKEN_OFF


if __name__ == "__main__":
    raise SystemExit(start())
