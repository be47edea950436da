"""One conversation on one job: utterance in, turns out."""

from guide.session.core import Session
from guide.session.job import Clock, Job, Journal, People
from guide.session.turns import Ask, Turn

__all__ = ["Ask", "Clock", "Job", "Journal", "People", "Session", "Turn"]
