"""The tablet's screen: a job with big figures, keys for thumbs and the place marked on the door.

Nothing here draws; what does is loaded when a screen is wanted.
"""

from guide.screen.tablet.start import add_settings, check, run

__all__ = ["add_settings", "check", "run"]
