"""The tablet's screen in tests: wait until all that was said is answered and drawn."""

from __future__ import annotations

import asyncio

from textual.pilot import Pilot

from guide.screen.tablet.app import Tablet


async def settled(pilot: Pilot[int]) -> None:
    """Wait until the desk has nothing left to work, and the screen nothing left to draw."""
    app = pilot.app
    assert isinstance(app, Tablet)
    await pilot.pause()
    while app.desk.busy:
        await asyncio.sleep(0.001)
    await pilot.pause()
