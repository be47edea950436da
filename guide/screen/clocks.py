"""Clocks a session can be given: the machine's, and one that jumps over waits."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta


class WallClock:
    """The machine's clock, with its offset."""

    def now(self) -> datetime:
        """The time now, in the local zone."""
        return datetime.now(UTC).astimezone()

    def jump_to(self, when: datetime) -> bool:
        """A real clock does not jump."""
        return False


class PretendedClock:
    """The machine's clock, moved on over every wait; it never goes back."""

    def __init__(self, start: datetime | None = None) -> None:
        self._ahead = timedelta(0)
        real = datetime.now(UTC).astimezone()
        if start is not None and start > real:
            self._ahead = start - real

    def now(self) -> datetime:
        """The pretended time."""
        return datetime.now(UTC).astimezone() + self._ahead

    def jump_to(self, when: datetime) -> bool:
        """Move on to `when`."""
        self._ahead += max(timedelta(0), when - self.now())
        return True
