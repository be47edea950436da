"""Yes and no taken and corrected, alone or by place: "it latches", "top works, middle binds", "make that top no"."""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

from guide.job import commands as cmd
from guide.job.commands import Command, Refusal
from guide.job.events import Heard
from guide.session.asks import numbered
from guide.session.dialogues import Dialogues
from guide.session.forms import Form, Values
from guide.session.job import Job
from guide.session.turns import Ask, Turn
from guide.talk.answered import ASKED, OTHER, REST, Answers, answered, told


class Desk(Protocol):
    """What is needed of the session."""

    def open_form(self, form: Form) -> list[Turn]:
        """Put a form's questions next."""

    def refuse(self, refusal: Refusal) -> list[Turn]:
        """Say why a command changes nothing."""


class States:
    """Takes and corrects what works and what does not, in words."""

    def __init__(self, job: Job, dialogues: Dialogues, desk: Desk) -> None:
        self.job = job
        self.dialogues = dialogues
        self.desk = desk

    def take(self, text: str, heard: Heard) -> list[Turn] | None:
        """Take yes or no, alone or by place; None if the words are neither. Places not named stay asked for."""
        want = self.job.wants
        ways = self._ways(text, want.step, want.place)
        if len(ways) != 1:
            return self._pick(ways, text, heard) if ways else None
        return self._take(want.step, ways[0], heard, text)

    def correct(self, step: str, place: str, text: str, heard: Heard) -> list[Turn] | None:
        """Put answers of a step right, each at its place, by default at `place`; None if the words are no answer."""
        ways = self._ways(text, step, place)
        if len(ways) != 1:
            return None
        last = self.job.state.steps[step].last
        for at, _ in ways[0]:
            if at not in last:
                return self.desk.refuse(Refusal("nothing-to-correct", step, (at,)))
        changed = [(at, answer) for at, answer in ways[0] if last[at].value != answer] or list(ways[0])
        return self._all([cmd.Correct(step, at, answer, heard) for at, answer in changed])

    def puts_right(self, text: str) -> bool:
        """Whether words that correct something mean an answer given to what is asked now."""
        want = self.job.wants
        return bool(self.job.state.steps[want.step].current) and len(self._ways(text, want.step, want.place)) == 1

    def _ways(self, text: str, step: str, place: str) -> list[Answers]:
        """Every meaning, with the place asked for, and those that had no answer in this round, by their names."""
        places = self.job.procedure.readings[self.job.procedure.steps[step].take or ""].places
        given = self.job.state.steps[step].current
        left = tuple(at for at in places if at not in given) if given else ()
        known = {ASKED: (place,), REST: left, OTHER: left if len(left) == 1 else ()}
        ways = answered(text, places)
        found = [tuple((one, answer) for at, answer in way for one in known.get(at, (at,))) for way in ways]
        return [way for way in dict.fromkeys(found) if way]

    def _take(self, step: str, answers: Answers, heard: Heard, text: str) -> list[Turn]:
        """Take them; nothing of it if one says otherwise of a place than was said before."""
        want, given = self.job.wants, self.job.state.steps[step].current
        before = [at for at, _ in answers if at in given and at != want.place]
        other = [at for at, answer in answers if at in before and given[at].value != answer]
        new = [(at, answer) for at, answer in answers if at not in before]
        if other or not new:
            return self.desk.refuse(Refusal("already-read", step, tuple(other or before)))
        note = len(text.split()) > 2 and [at for at, _ in answers] == [want.place]
        notes: list[Command] = [cmd.Note(text, step)] if note else []
        return self._all([*notes, *(cmd.Take(step, at, answer, heard) for at, answer in new)])

    def _all(self, commands: list[Command]) -> list[Turn]:
        """Do one after the other, up to one that can't be done."""
        turns: list[Turn] = []
        for command in commands:
            outcome = self.job.do(command)
            if isinstance(outcome, Refusal):
                return [*turns, *self.desk.refuse(outcome)]
            turns += outcome
        return turns

    def _pick(self, ways: list[Answers], text: str, heard: Heard) -> list[Turn]:
        """Which place is meant: "binds on the right side", of a left and a right door."""
        want, wording = self.job.wants, self.job.wording
        labels = tuple(told(way) for way in ways)
        question = wording.say("reading.which", words=text) + " " + numbered(labels, wording)
        ask = Ask(question, "choice", "meaning", want.step, want.reading, choices=labels, labels=labels)

        def finish(values: Values) -> list[Turn]:
            way = ways[labels.index(values["pick"])]
            return self._take(want.step, way, replace(heard, confirmed="choice"), text)

        return self.desk.open_form(self.dialogues.pick(ask, finish))
