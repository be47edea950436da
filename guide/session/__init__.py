"""One conversation on one job: utterance in, turns out; and the view of it that screens draw."""

from guide.session.conversation import Conversation
from guide.session.core import Session
from guide.session.job import Clock, Job, Journal, People
from guide.session.turns import Ask, Turn
from guide.session.view import View

__all__ = ["Ask", "Clock", "Conversation", "Job", "Journal", "People", "Session", "Turn", "View"]
