"""One conversation on one job: an utterance in, turns out. What every screen drives.

The session owns no truth. It turns words into commands, lets the engine decide, and tells what became durable.
Every answer ends with what is asked now, so that nobody loses their place.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Command, Refusal
from guide.job.request import Request
from guide.problems import ProblemError
from guide.session.asking import Asking
from guide.session.dialogues import SKIP_PIN, Dialogues
from guide.session.forms import Field, Form, Values
from guide.session.intents import AT_ANY_MOMENT, INTENTS, MAY_BE_NAME, MAY_BE_TEXT, PUTS_RIGHT
from guide.session.job import Job, People
from guide.session.moves import Planner
from guide.session.naming import option_named, person_named
from guide.session.opening import OpeningTalk
from guide.session.readings import Readings
from guide.session.turns import Ask, Turn
from guide.session.works import Works
from guide.talk.answered import example_by_place
from guide.talk.answers import Answers
from guide.talk.phrases import Phrases
from guide.talk.understand import Understanding, understand
from guide.talk.words import example, why_not

_DECISIONS: Mapping[str, Literal["go on", "concede", "stop", "stands"]] = {
    "go on": "go on",
    "concede": "concede",
    "stop": "stop",
    "stands": "stands",
}

LONGEST = 1000
"""Characters of one utterance that are listened to."""


class Session:
    """One conversation on one job. `hear` never raises for anything a crew can say."""

    def __init__(self, job: Job, phrases: Phrases, people: People) -> None:
        self.job = job
        self.phrases = phrases
        self.wording = job.wording
        self.dialogues = Dialogues(job.procedure, job.wording, people, job.state.people)
        self.answers = Answers(job.procedure, job.state, job.wording)
        self.readings = Readings(job, self.dialogues, self.answers, self)
        self.moves = Planner(job)
        self.opening = OpeningTalk(job, self.readings, self.open_form)
        self.works = Works(job, self.opening.remember)
        self.form: Form | None = None
        self.asking = Asking(job)
        self.looking_back = False
        """A finished job was taken up again, to ask about it or to put something right."""

    # What screens call

    @property
    def over(self) -> bool:
        """Stopped or finished: nothing more is asked. A finished job that was taken up again is over when they stop."""
        if self.form is not None:
            return False
        return self.job.wants.want == "stopped" or (self.job.wants.want == "over" and not self.looking_back)

    @property
    def secret(self) -> bool:
        """Whether the next answer is not to be shown (a PIN)."""
        return self.asking.last is not None and self.asking.last.secret

    def open(self) -> list[Turn]:
        """Start a new job's talk: what it is, what comes before it, who speaks, and the first request."""
        procedure = self.job.procedure
        turns = [Turn("say", self.wording.say("open.new", title=procedure.title))]
        if procedure.about:
            turns.append(Turn("say", procedure.about))
        turns.append(Turn("say", procedure.defers or self.wording.say("open.defers")))
        return turns + self._greet()

    def reopen(self, torn: bool = False) -> list[Turn]:
        """Take up a job that was left; `torn` if a last line that was never acknowledged had to be dropped."""
        turns = [Turn("say", self.wording.say("open.again", title=self.job.procedure.title))]
        if torn:
            turns.append(Turn("say", self.wording.say("open.torn")))
        self.looking_back = self.job.state.status == "finished"
        turns += self._safely(lambda: self.do(cmd.Resume(torn)))
        progress = self.wording.say("open.finished") if self.looking_back else self.answers.progress(self.job.wants)
        turns.append(Turn("say", progress))
        return turns + self._greet()

    def _greet(self) -> list[Turn]:
        if not self.job.state.speaker.name and not self.over:
            self.form = self.dialogues.speaker(self._speaker_named)
        return self._safely(self._advance)

    def hear(self, text: str, by: str = "typed") -> list[Turn]:
        """Everything said in answer to one utterance, ending with what is asked now."""
        return self._safely(lambda: self._hear(text, by))

    def tick(self) -> list[Turn]:
        """Look at the clock: what to say if a wait is over, else nothing."""
        if self.job.wants.want != "wait" or self.form is not None:
            return []
        passed = self._safely(lambda: self.do(cmd.PassTime()))
        return passed + self._safely(self._advance) if passed else []

    def leave(self, how: ev.Left) -> list[Turn]:
        """Nobody answers any more: record it, and say what was left unsafe."""
        self.form = None
        return [] if self.over else self._safely(lambda: self.do(cmd.Leave(how)))

    def pretend_clock(self) -> list[Turn]:
        """From here on waits are jumped over, for ever marked in the record."""
        return self._safely(lambda: self.do(cmd.PretendClock()))

    # What the readings call

    def open_form(self, form: Form) -> list[Turn]:
        """Put a form's questions next."""
        self.form = form
        return []

    def refuse(self, refusal: Refusal) -> list[Turn]:
        """Say what cannot be done, why, and what can."""
        names = [self.name(name) for name in refusal.names]
        text = self.wording.say(
            f"refused.{refusal.code}",
            step=self.name(refusal.step),
            names=self.wording.join(names),
            first=names[0] if names else "",
            count=len(names),
        )
        can = [self.wording.say(f"legal.{code}") for code in refusal.legal]
        if can:
            text += " " + self.wording.say("refused.but", can=self.wording.join(can))
        data = {"why": refusal.code, "step": refusal.step or None, "names": list(refusal.names), "legal": can}
        return [Turn("refused", text, data)]

    # Hearing

    def _safely(self, act: Callable[[], list[Turn]]) -> list[Turn]:
        """What can't be kept on disk is not acknowledged: say so, and ask again."""
        try:
            return act()
        except ProblemError as fault:
            return self._told(fault)

    def _told(self, fault: ProblemError) -> list[Turn]:
        told = [
            Turn("refused", problem.message + (" " + problem.hint if problem.hint else ""), _fault(problem.code))
            for problem in fault.problems
        ]
        return told + self.asking.again()

    def _hear(self, text: str, by: str) -> list[Turn]:
        if len(text) > LONGEST:
            said = self.wording.say("unknown.too-long", longest=LONGEST)
            return [Turn("refused", said, {"why": "too-long", "legal": []}), *self.asking.now(self.form)]
        text = text.strip()
        if not text:
            return self.do(cmd.PassTime()) + self._advance()
        heard = understand(text, self.phrases, {"name": tuple(self.job.state.people)})
        if heard.intent == "hurt":
            self.drop_form()
            return self._hurt(text)
        turns = self._in_form(text, heard) if self.form is not None else self._in_job(text, heard, by)
        return turns + self._advance()

    def _hurt(self, text: str, ask: bool = True) -> list[Turn]:
        """First the words that help, whatever becomes of the record; then, with `ask`, what is asked now."""
        try:
            return self.do(cmd.SomeoneHurt(text)) + (self._advance() if ask else [])
        except ProblemError as fault:
            first = Turn("say", self.wording.say("hurt.first"), {"emergency": True})
            return [first, *self._told(fault)]

    # Forms

    def drop_form(self) -> None:
        """Leave the small dialogue, and what was heard but not yet taken."""
        self.form = None
        self.readings.forget()

    def _in_form(self, text: str, heard: Understanding) -> list[Turn]:
        form = self.form
        field = form.current() if form else None
        if form is None or field is None:
            return []
        ask = field.ask(form.values)
        if heard.intent == "never-mind" and form.optional:
            self.drop_form()
            return [Turn("say", self.wording.say("form.dropped"))]
        meant = MAY_BE_TEXT if ask.expects == "text" else MAY_BE_NAME if ask.expects == "name" else frozenset()
        answer = option_named(text, ask.choices, ask.labels) if ask.expects == "choice" else None
        if answer is None and heard.intent in AT_ANY_MOMENT and heard.intent not in meant:
            return self._intent(text, heard, "typed")
        answer = answer or self._form_answer(ask, text, heard) or field.read(text)
        if answer is None:
            return [Turn("refused", self._form_example(ask), {"why": "not-an-answer", "legal": list(ask.choices)})]
        wrong = field.wrong(answer, form.values)
        if wrong is not None:
            return [Turn("refused", wrong, {"why": "not-an-answer", "legal": []})]
        return self._form_step(form, field, answer)

    def _form_step(self, form: Form, field: Field, answer: str) -> list[Turn]:
        form.values[field.key] = answer
        if form.current() is not None:
            return []
        self.form = None
        try:
            return form.finish(form.values)
        except ProblemError:
            del form.values[field.key]
            self.form = form
            raise

    def _form_answer(self, ask: Ask, text: str, heard: Understanding) -> str | None:
        if ask.expects == "yes-no":
            return {"yes": "yes", "no": "no", "good": "yes"}.get(heard.intent)
        if ask.expects == "done":
            return "done" if heard.intent in ("done", "yes", "good") else None
        if ask.expects == "choice":
            return option_named(text, ask.choices, ask.labels)
        if ask.expects == "name":
            return person_named(text, heard, self.job.state.speaker.name)
        if ask.secret and text.lower() in (SKIP_PIN, "no", "no pin"):
            return SKIP_PIN
        return text

    def _form_example(self, ask: Ask) -> str:
        return self.wording.say(
            f"unknown.{ask.expects}", choices=self.wording.join(ask.labels or ask.choices, last="or")
        )

    # The job

    def _in_job(self, text: str, heard: Understanding, by: str) -> list[Turn]:
        want = self.job.wants
        if want.want == "reading":
            taken = self._reading(want, text, heard, by)
            if taken is not None:
                return taken
        if want.want == "choice":
            choice = self.job.procedure.choices[want.name]
            option = option_named(text, tuple(choice.options), tuple(choice.options.values()))
            if option is not None:
                return self.do(cmd.Choose(want.name, option, self.readings.as_spoken(ev.Heard(text))))
        if heard.intent in INTENTS:
            return self._intent(text, heard, by)
        return self._not_understood(want, text, heard)

    def _reading(self, want: Request, text: str, heard: Understanding, by: str) -> list[Turn] | None:
        """The answer to a reading asked for, or None if the words are something else."""
        reading = self.job.procedure.readings[want.reading]
        if reading.answer == "number":
            return self.readings.take_words(text, by)
        if reading.answer == "yes-no":
            mends = heard.intent in PUTS_RIGHT and self.readings.states.puts_right(heard.slots.get("text", "") or text)
            return self.readings.take_yes_no(text, by) if not mends else None
        if reading.answer == "choice":
            value = option_named(text, tuple(reading.options), tuple(reading.options.values()))
        elif heard.intent in INTENTS and heard.intent not in MAY_BE_TEXT:
            value = None
        else:
            value = person_named(text, heard, self.job.state.speaker.name) if reading.answer == "name" else text
        return self.readings.take_value(value, text, by) if value is not None else None

    def _intent(self, text: str, heard: Understanding, by: str) -> list[Turn]:
        return INTENTS[heard.intent](self, text, heard, by)

    def _not_understood(self, want: Request, text: str, heard: Understanding) -> list[Turn]:
        if want.want == "reading" and self.job.procedure.readings[want.reading].answer == "number":
            expects = self.readings.heard(want.step)
            reason = why_not(text, expects)
            key = f"why-not.{reason}" if reason else "unknown.number"
            said = self.wording.say(key, words=text, unit=expects.unit, example=example(expects))
        elif want.want == "reading":
            reading = self.job.procedure.readings[want.reading]
            said = self.wording.say(
                f"unknown.{reading.answer}", choices=self.wording.join(reading.options.values(), last="or")
            )
            if reading.answer == "yes-no" and reading.places:
                said += " " + self.wording.say("unknown.by-place", example=example_by_place(reading.places))
        else:
            said = self.wording.say("unknown.plain", words=text)
        near = list(heard.near)
        if near:
            said += " " + self.wording.say("unknown.near", near=self.wording.join(near, last="or"))
        return [Turn("refused", said, {"why": "not-understood", "legal": [], "near": near})]

    def do(self, command: Command) -> list[Turn]:
        """Do a command and tell it, or tell why not."""
        outcome = self.job.do(command)
        return self.refuse(outcome) if isinstance(outcome, Refusal) else outcome

    # Asking

    def _advance(self) -> list[Turn]:
        """Do what is the session's own to do, then ask."""
        turns: list[Turn] = self.readings.go_on() if self.form is None else []
        while self.form is None:
            want = self.job.wants
            if want.want == "begin":
                turns += self.opening.before(want.step)
                if self.form is None:
                    turns += self.do(cmd.Begin(want.step))
            elif want.want == "close":
                turns += self.do(cmd.Close())
            elif want.until is not None and self.job.clock.jump_to(want.until):
                turns += [self.asking.wait(want), *self.do(cmd.PassTime())]
            elif want.until is not None and want.until <= self.job.clock.now():
                turns += self.do(cmd.PassTime())
            elif (planned := self.moves.wanted(want)) is not None:
                turns += self.do(cmd.Plan(planned))
            else:
                self.form = self._form_wanted(want)
                break
        return turns + self.asking.now(self.form)

    def _form_wanted(self, want: Request) -> Form | None:
        """The form that the request itself opens, if it takes more than one answer."""
        if want.want == "lead":
            return self.dialogues.lead(want.step, lambda values: self.lead_decided(want.step, values))
        if want.want == "doubt":
            return self.dialogues.doubt(want.step, lambda values: self.lead_decided(want.step, values))
        if want.want == "look":
            return self.dialogues.look(want.step, lambda values: self._looked(want.step, values))
        if want.want == "make-safe":
            make_safe = self.job.procedure.make_safe[want.name]
            cautions = [self.job.procedure.cautions[name] for name in make_safe.cautions]
            text = self.wording.say("ask.make-safe", say=" ".join([*cautions, make_safe.say]))
            return self.dialogues.make_safe(
                want.name, text, lambda values: self.do(cmd.MakeSafe(want.name, values.get("name", "")))
            )
        if want.want == "found":
            return self.dialogues.found(lambda values: self.do(cmd.Find(values["untouched"] == "yes")))
        if want.want == "clear":
            return self.dialogues.clear(self._all_clear)
        return None

    def name(self, name: str) -> str:
        """A name as it is said."""
        return name.replace("-", " ").replace("_", " ")

    # Forms finished

    def _speaker_named(self, values: Values) -> list[Turn]:
        return self.do(cmd.Speak(ev.Person(values["name"], "crew", "claimed")))

    def _all_clear(self, values: Values) -> list[Turn]:
        if values.get("sure") == "no":
            return []
        return self.do(cmd.Clear(ev.Person(values["name"], "crew", "claimed")))

    def lead_decided(self, step: str, values: Values) -> list[Turn]:
        """The lead's decision, complete."""
        if values.get("changed") == "no":
            return [Turn("say", self.wording.say("form.dropped"))]
        person = self.dialogues.person(values, "lead")
        decision = values["decision"]
        command = cmd.Decide(step, _DECISIONS[decision], person, values.get("reason", ""))
        return self.do(command)

    def _looked(self, step: str, values: Values) -> list[Turn]:
        if values.get("changed") == "no":
            return [Turn("say", self.wording.say("form.dropped"))]
        hold = self.job.procedure.steps[step].hold
        person = self.dialogues.person(values, hold.by if hold else "lead")
        return self.do(cmd.Look(step, person, values["passed"] == "yes", values.get("remark", "")))


def _fault(code: str) -> dict[str, object]:
    return {"why": code, "legal": []}
