"""The job in a browser: a page that draws the same view as the tablet's screen, and the server it comes from.

Only what can be chosen about it is here: the rest (`start`) is loaded when a job is to be served.
"""

from __future__ import annotations

import argparse


def add_settings(parser: argparse.ArgumentParser) -> None:
    """Add what can be chosen about serving."""
    parser.add_argument("--port", metavar="N", type=int, help="the port (usually 8440; 0 takes a free one)")
    parser.add_argument(
        "--lan",
        metavar="ADDRESS",
        nargs="?",
        const="",
        help="serve the local network too, with TLS (ADDRESS: which of this machine's own, if it has several)",
    )
    parser.add_argument("--quiet", action="store_true", help="without the browser's loudspeaker and microphone")
