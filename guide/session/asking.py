"""What is asked now, with the step's own words before it: each said once for every time its turn comes."""

from __future__ import annotations

from guide.job.request import Request
from guide.session.asks import ask_choice, ask_reading, ask_step, step_words
from guide.session.forms import Form
from guide.session.job import Job
from guide.session.turns import Ask, Turn


class Asking:
    """Puts the question of a form, or the request of the job; keeps what was said already."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.last: Ask | None = None
        """What was asked last, or None while nothing is."""
        self._shown: tuple[str, int, bool] | None = None
        self._part = ""

    def again(self) -> list[Turn]:
        """What was asked last, as it was."""
        return [self.last.turn()] if self.last else []

    def now(self, form: Form | None) -> list[Turn]:
        """What is asked now, with the step's words when they have not been said yet."""
        field = form.current() if form else None
        want = self.job.wants
        turns: list[Turn] = []
        if form is not None and field is not None:
            if want.step and form.kind in ("look", "doubt"):
                turns += self._introduce(want)
            ask = field.ask(form.values)
        else:
            turns += self._introduce(want)
            found = self._ask(want)
            if found is None:
                return turns + self._nothing_asked(want)
            ask = found
        self.last = ask
        return [*turns, ask.turn()]

    def _ask(self, want: Request) -> Ask | None:
        if want.want == "choice":
            return ask_choice(self.job.procedure, want, self.job.wording)
        if want.want == "reading":
            return ask_reading(self.job.procedure, self.job.state, want, self.job.wording)
        if want.want in ("cautions", "crew", "adjust", "done"):
            return ask_step(self.job.procedure, self.job.state, want, self.job.wording)
        return None

    def _nothing_asked(self, want: Request) -> list[Turn]:
        self.last = None
        return [self.wait(want)] if want.want == "wait" else []

    def wait(self, want: Request) -> Turn:
        """There is nothing to do but wait."""
        until = want.until or self.job.clock.now()
        wait = self.job.procedure.steps[want.step].wait
        text = self.job.wording.say("wait.until", what=wait.what if wait else "", until=self.job.teller.clock(until))
        return Turn("wait", text, {"step": want.step, "until": until.isoformat()})

    def _introduce(self, want: Request) -> list[Turn]:
        """The step's heading, cautions and words, each once for every time its turn comes."""
        step = self.job.procedure.steps.get(want.step)
        if step is None or want.want in ("wait", "choice"):
            return []
        turns: list[Turn] = []
        if step.part and step.part != self._part:
            self._part = step.part
            turns.append(Turn("say", self.job.wording.say("step.part", part=step.part), {"part": step.part}))
        if want.want in ("adjust", "lead", "crew") or self._shown == (step.name, want.round, want.want == "cautions"):
            return turns
        self._shown = (step.name, want.round, want.want == "cautions")
        if want.want == "cautions":
            return turns + [
                Turn("say", self.job.procedure.cautions[name], {"step": step.name, "caution": name})
                for name in step.cautions
            ]
        words = step_words(self.job.procedure, self.job.state, step.name)
        if step.take and words == f"{self.job.procedure.readings[step.take].ask}." and not want.again:
            return turns
        text = self.job.wording.say("step.again", say=words) if want.again else words
        return [*turns, Turn("say", text, {"step": step.name, "again": want.again})]

    def forget_shown(self) -> None:
        """Say the step's words again with the next request."""
        self._shown = None
