"""The forms a session needs: who decides, a look at a hold point, a meaning to pick, a number to confirm."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from guide.job.events import Person
from guide.procedure.model import Procedure
from guide.session.asks import numbered
from guide.session.forms import Field, Form, Values
from guide.session.job import People
from guide.session.turns import Ask, Turn
from guide.talk.wording import Wording

Finish = Callable[[Values], list[Turn]]

SKIP_PIN = "skip"
YES_NO = ("yes", "no")


class Dialogues:
    """Builds forms in one language for one procedure and one list of people."""

    def __init__(self, procedure: Procedure, wording: Wording, people: People, named: Mapping[str, Person]) -> None:
        self.procedure = procedure
        self.named = named
        self.wording = wording
        self.people = people

    def person(self, values: Values, role: str) -> Person:
        """The person a form named, with the proof it got."""
        name = values["name"]
        proved = values.get("pin", SKIP_PIN) != SKIP_PIN
        return Person(name, role, "pin" if proved else "claimed")

    def _who(self, role: str, step: str, ask: str) -> tuple[Field, ...]:
        """Name, whether the role has passed to another person, and the PIN if the name is on the list."""

        def wrong_name(name: str, values: Values) -> str | None:
            known = self.people.role(name)
            if role != "crew" and known is not None and known != role:
                return self.wording.say("form.wrong-role", name=name, role=known, needed=role)
            return None

        def wrong_pin(pin: str, values: Values) -> str | None:
            if pin == SKIP_PIN or self.people.proves(values["name"], pin):
                return None
            return self.wording.say("form.wrong-pin", name=values["name"])

        def ask_pin(values: Values) -> Ask:
            return Ask(self.wording.say("form.pin", name=values["name"]), "text", "pin", step or None, secret=True)

        def before(values: Values) -> str | None:
            """Who was named in this role before, if it was somebody else."""
            held = [name for name, person in self.named.items() if person.role == role]
            return held[-1] if held and values["name"] not in held else None

        def ask_changed(values: Values) -> Ask:
            text = self.wording.say("form.role-changed", name=values["name"], role=role, before=before(values))
            return Ask(text, "yes-no", "role", step or None, choices=YES_NO, wanted="yes")

        return (
            Field("name", lambda values: Ask(ask, "name", "name", step or None), wrong=wrong_name),
            Field("changed", ask_changed, needed=lambda values: role != "crew" and before(values) is not None),
            Field(
                "pin",
                ask_pin,
                needed=lambda values: role != "crew" and self.people.role(values["name"]) is not None,
                wrong=wrong_pin,
            ),
        )

    def _text(self, key: str, about: str, step: str, needed: Callable[[Values], bool]) -> Field:
        return Field(about, lambda values: Ask(self.wording.say(key), "text", about, step or None), needed=needed)

    def lead(self, step: str, finish: Finish) -> Form:
        """After the last failed round: go on, stop, or concede (never on a safety check)."""
        safety = self.procedure.steps[step].safety
        options = ("go on", "stop") if safety else ("go on", "concede", "stop")
        return self._decision("lead", step, options, "form.lead-safety" if safety else "form.lead", finish)

    def doubt(self, step: str, finish: Finish) -> Form:
        """A step that can't be undone was done on a figure that changed."""
        return self._decision("doubt", step, ("stands", "stop"), "form.doubt", finish)

    def concede(self, step: str, finish: Finish) -> Form:
        """A lead wants to concede before the rounds are up."""
        form = self._decision("concede", step, ("concede",), "form.lead", finish)
        form.values["decision"] = "concede"
        return form

    def _decision(self, kind: str, step: str, options: tuple[str, ...], key: str, finish: Finish) -> Form:
        labels = tuple(self.wording.say(f"decision.{option.replace(' ', '-')}") for option in options)

        def ask(values: Values) -> Ask:
            text = self.wording.say(key, check=step.replace("-", " ")) + " " + numbered(labels, self.wording)
            return Ask(text, "choice", kind, step, choices=options, labels=labels)

        fields = (
            Field("decision", ask),
            *self._who("lead", step, self.wording.say("form.who-lead")),
            self._text(
                "form.reason",
                "reason",
                step,
                lambda values: values["decision"] in ("concede", "stands") and values.get("changed") != "no",
            ),
        )
        return Form(kind, fields, finish, optional=kind == "concede")

    def look(self, step: str, finish: Finish) -> Form:
        """A hold point: who looks, whether it passes, and what is wrong if not."""
        hold = self.procedure.steps[step].hold
        role, what = (hold.by, hold.look) if hold else ("lead", "")

        def ask_passed(values: Values) -> Ask:
            text = self.wording.say("form.passed", name=values["name"], look=what)
            return Ask(text, "yes-no", "look", step, choices=YES_NO, wanted="yes")

        fields = (
            *self._who(role, step, self.wording.say("form.who-looks", role=role, look=what)),
            Field("passed", ask_passed, needed=lambda values: values.get("changed") != "no"),
            self._text("form.remark", "remark", step, lambda values: values.get("passed") == "no"),
        )
        return Form("look", fields, finish, optional=False)

    def make_safe(self, hazard: str, text: str, finish: Finish) -> Form:
        """Brace it or close it, then who stays with it."""
        stays = self.procedure.make_safe[hazard].stays
        fields = (
            Field("done", lambda values: Ask(text, "done", "make-safe", hazard)),
            Field(
                "name",
                lambda values: Ask(self.wording.say("form.who-stays"), "name", "stays", hazard),
                needed=lambda values: stays,
                wrong=lambda name, values: self.wording.say("form.somebody-stays") if _nobody(name) else None,
            ),
        )
        return Form("make-safe", fields, finish, optional=False)

    def found(self, finish: Finish) -> Form:
        """Left without being made safe: was it found as it was left."""
        ask = Ask(self.wording.say("form.found"), "yes-no", "found", choices=YES_NO, wanted="yes")
        return Form("found", (Field("untouched", lambda values: ask),), finish, optional=False)

    def clear(self, finish: Finish) -> Form:
        """Somebody was hurt: who decides that work goes on."""
        ask = Ask(self.wording.say("form.clear"), "name", "clear")

        def sure(values: Values) -> Ask:
            text = self.wording.say("form.clear-sure", name=values["name"])
            return Ask(text, "yes-no", "clear", choices=YES_NO, wanted="yes")

        def stranger(values: Values) -> bool:
            return values["name"] not in self.named and self.people.role(values["name"]) is None

        fields = (Field("name", lambda values: ask), Field("sure", sure, needed=stranger))
        return Form("clear", fields, finish, optional=False)

    def speaker(self, finish: Finish) -> Form:
        """Nobody has said who is speaking."""
        ask = Ask(self.wording.say("form.speaker"), "name", "speaker")
        return Form("speaker", (Field("name", lambda values: ask),), finish, optional=False)

    def change_choice(self, choice: str, finish: Finish) -> Form:
        """Work hangs on the choice: a lead changes it, and says why."""
        fields = (
            *self._who("lead", "", self.wording.say("form.choice-lead")),
            self._text("form.reason", "reason", "", lambda values: True),
        )
        return Form("change-choice", fields, finish)

    def pick(self, ask: Ask, finish: Finish, read: Callable[[str], str | None] = lambda text: None) -> Form:
        """One of some numbered choices; `read` understands other words for one of them."""
        return Form("pick", (Field("pick", lambda values: ask, read=read),), finish)

    def confirm(self, step: str, text: str, finish: Finish, value: str | None = None, place: str | None = None) -> Form:
        """Yes or no to what was understood; `value` and `place` if that is a reading."""
        ask = Ask(text, "yes-no", "confirm", step or None, place=place, choices=YES_NO, value=value)
        return Form("confirm", (Field("yes", lambda values: ask),), finish)


def _nobody(name: str) -> bool:
    return name.lower() in {"nobody", "no one", "noone", "none", "no-one", "not me"}
