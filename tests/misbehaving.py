"""A child process that behaves, or misbehaves in the way its first argument says."""

from __future__ import annotations

import os
import signal
import sys
import time

from guide.voice.child import Channel, Closed


def main(how: str, mark: str) -> None:
    """Behave as told; with `mark` only the first run misbehaves."""
    if mark and os.path.exists(mark):
        how = "well"
    elif mark:
        with open(mark, "w"):
            pass
    if how == "silent":
        time.sleep(60)
    if how == "early":
        sys.exit(3)
    channel = Channel()
    if how == "missing":
        channel.missing("there is no microphone", "plug one in")
        return
    print("a library complains on the output", flush=True)
    print("and on the error output", file=sys.stderr, flush=True)
    channel.send("ready")
    if how == "deaf":
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        time.sleep(60)
    if how == "flood":
        while True:
            channel.send("noise")
    if how == "chatter":
        while True:
            os.write(2, b"complaint " * 1000)
    if how == "endless":
        while True:
            os.write(channel._out, b"x" * 65536)
    if how == "garbled":
        os.write(channel._out, b'not json\n[1]\n"x"\n\xff\xfe\n')
    try:
        while True:
            message = channel.receive()
            if message is None:
                continue
            if message["kind"] == "crash":
                os.kill(os.getpid(), signal.SIGSEGV)
            if message["kind"] == "exit":
                sys.exit("the device went up in smoke")
            if message["kind"] == "hang":
                time.sleep(60)
            channel.send("echo", said=message)
    except Closed:
        if how == "stubborn":
            time.sleep(60)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else "")
