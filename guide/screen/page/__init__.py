"""The job in a browser: a page that draws the same view as the tablet's screen, and the server it comes from.

Nothing here serves; what does is loaded when a job is to be served.
"""

from guide.screen.page.start import add_settings, find_place, run

__all__ = ["add_settings", "find_place", "run"]
