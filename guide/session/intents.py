"""What a crew can say at any moment, apart from answers: one function an intent, and the table of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from guide.job import commands as cmd
from guide.job import events as ev
from guide.job.commands import Refusal
from guide.procedure.model import Together
from guide.session.asks import limits_now, moves_left, tolerance_words
from guide.session.forms import Form, Values
from guide.session.naming import person_named
from guide.session.turns import Turn
from guide.session.works import QUESTIONS as WORK_QUESTIONS
from guide.talk.understand import Understanding

if TYPE_CHECKING:
    from guide.session.core import Session


def _say(talk: Session, text: str) -> list[Turn]:
    return [Turn("say", text)]


def _done(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    want = talk.job.wants
    if want.want == "done":
        return talk.do(cmd.Finish(want.step))
    if want.want == "cautions":
        return talk.do(cmd.Acknowledge(want.step))
    if want.want == "adjust":
        return talk.do(cmd.Adjust(want.step))
    if want.want == "crew" and heard.intent in ("yes", "good"):
        return talk.do(cmd.CrewIsThere(want.step))
    if want.want == "reading":
        return _say(talk, talk.wording.say("reading.not-yet"))
    return _say(talk, talk.wording.say("unknown.nothing-to-do"))


def _no(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    want = talk.job.wants
    key = {"crew": "no.crew", "cautions": "no.cautions", "adjust": "no.adjust"}.get(want.want, "no.plain")
    return _say(talk, talk.wording.say(key))


def _stop(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    talk.drop_form()
    if talk.job.state.status == "stopping":
        return _say(talk, talk.wording.say("stop.first-make-safe"))
    talk.looking_back = False
    return talk.do(cmd.Stop())


def _go_on(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    if talk.job.state.status == "stopping":
        talk.drop_form()
        return talk.do(cmd.GoOn())
    return _done(talk, text, heard, by)


def _repeat(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    talk.asking.forget_shown()
    return []


def _tolerance(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    want = talk.job.wants
    words = (
        tolerance_words(limits_now(talk.job.procedure, talk.job.state, want.step), talk.wording) if want.step else ""
    )
    return _say(talk, talk.answers.tolerance(want, words))


def _help(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    first = talk.wording.say("hurt.help")
    return [Turn("say", f"{first}\n{talk.phrases.help_text()}", {"help": True})]


def _go_back(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    latest = talk.answers.latest()
    last = talk.name(latest.step) if latest else ""
    return _say(talk, talk.wording.say("back.how" if latest else "back.nothing", last=last))


def _redo(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    found = talk.answers.find_steps(heard.slots.get("step", ""))
    if len(found) != 1:
        names = talk.wording.join([talk.name(step.name) for step in found[:4]], last="or")
        return _say(talk, talk.wording.say("back.which" if found else "back.unknown", names=names))
    return talk.do(cmd.Redo(found[0].name, text))


def _skip(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    want = talk.job.wants
    found = talk.answers.find_steps(heard.slots.get("step", ""))
    if len(found) == 1 and found[0].name != want.step:
        if talk.job.state.steps[found[0].name].done:
            return _say(talk, talk.wording.say("skip.done-already", step=talk.name(found[0].name)))
        return talk.do(cmd.Begin(found[0].name))
    return _say(talk, talk.wording.say("skip.no", step=talk.name(want.step or want.name)))


def _already(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    want = talk.job.wants
    key = {"done": "already.say-done", "reading": "already.read-again"}.get(want.want, "already.plain")
    if want.again:
        key = "already.disturbed"
    return _say(talk, talk.wording.say(key))


def _moved(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    known = talk.job.procedure.watchers
    said = heard.slots.get("state", "")
    states = [name for name in known if name == said or name in said.split()]
    if not states and len(known) == 1:
        states = list(known)
    if not states:
        return _say(talk, talk.wording.say("moved.which", states=talk.wording.join(list(known), last="or")))
    talk.drop_form()
    turns = talk.do(cmd.Moved(tuple(states), text))
    if any(turn.kind != "say" for turn in turns):
        return turns
    due = {check for name in states for check in known[name] if talk.job.state.steps[check].stale is not None}
    return _say(talk, talk.wording.say("moved.due-anyway" if due else "moved.nothing-lost"))


def _correct(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    """A reading put right, or a choice made otherwise."""
    talk.drop_form()
    said = heard.slots.get("text", "") or text
    named = _choice_named(talk, said.lower())
    return _choose_otherwise(talk, *named, text) if named else talk.readings.correct_words(said, by)


def _choice_named(talk: Session, said: str) -> tuple[str, str] | None:
    """The choice and option that the words name, if it was made otherwise."""
    for name, made in talk.job.state.choices.items():
        for option, label in talk.job.procedure.choices[name].options.items():
            by_name = talk.name(name) in said and talk.name(option) in said
            if option != made and (label.lower() in said or by_name):
                return name, option
    return None


def _concede(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    want = talk.job.wants
    if want.want != "adjust":
        return _say(talk, talk.wording.say("concede.nothing"))
    if talk.job.procedure.steps[want.step].safety:
        return talk.refuse(Refusal("safety", want.step))
    return talk.open_form(talk.dialogues.concede(want.step, lambda values: talk.lead_decided(want.step, values)))


def _speaker(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    name = person_named(text, heard, talk.job.state.speaker.name)
    if name is None:
        return _say(talk, talk.wording.say("unknown.name", choices=""))
    return talk.do(cmd.Speak(ev.Person(name, "crew", "claimed")))


def _note(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    return talk.do(cmd.Note(heard.slots.get("text", "") or text, talk.job.wants.step))


def _cant(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    want = talk.job.wants
    one = talk.moves.set_of(want)
    if want.want == "adjust" and one is not None and moves_left(talk.job.procedure, talk.job.state, want.step):
        return _ruled_out(talk, one, "", text)
    if want.want in ("adjust", "lead"):
        return _say(talk, talk.wording.say("cant.adjust"))
    return _say(talk, talk.wording.say("cant.plain"))


def _moves(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    """What a crew asks or says about the moves of a set of checks."""
    moves, want = talk.moves, talk.job.wants
    one = moves.set_of(want)
    if one is None:
        return _say(talk, talk.wording.say("moves.out-of-job"))
    if heard.intent == "why-move":
        return _say(talk, moves.why(one))
    if heard.intent == "list-moves":
        return _say(talk, moves.list(one))
    if heard.intent == "can-move":
        talk.drop_form()
        return talk.do(cmd.RuleOut(one.name, (), text))
    if heard.intent == "all-made":
        return _all_made(talk, want.step)
    return _ruled_out(talk, one, heard.slots.get("point", ""), text)


def _ruled_out(talk: Session, one: Together, point: str, text: str) -> list[Turn]:
    """Leave a point out of the moves; without its name, the one that is asked for."""
    named = talk.moves.named(one, point)
    if len(named) != 1:
        points = named or talk.moves.point_names(one)
        return _say(talk, talk.wording.say("moves.which", points=talk.wording.join(list(points))))
    before = talk.job.state.sets[one.name].ruled_out
    return talk.do(cmd.RuleOut(one.name, tuple(dict.fromkeys((*before, *named))), text))


def _all_made(talk: Session, step: str) -> list[Turn]:
    turns: list[Turn] = []
    while talk.job.wants.want == "adjust" and talk.job.wants.step == step:
        turns += talk.do(cmd.Adjust(step))
        if not moves_left(talk.job.procedure, talk.job.state, step):
            break
    return turns or _say(talk, talk.wording.say("moves.none"))


def _work(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    """A question for the trade's arithmetic."""
    asked = talk.works.ask(heard.intent)
    return talk.open_form(asked) if isinstance(asked, Form) else asked


def _choose_otherwise(talk: Session, choice: str, option: str, text: str) -> list[Turn]:
    outcome = talk.job.do(cmd.Choose(choice, option, ev.Heard(text)))
    if not isinstance(outcome, Refusal):
        return outcome
    if outcome.code != "choice-needs-lead":
        return talk.refuse(outcome)

    def finish(values: Values) -> list[Turn]:
        person = talk.dialogues.person(values, "lead")
        return talk.do(cmd.Choose(choice, option, ev.Heard(text), person, values["reason"]))

    return talk.open_form(talk.dialogues.change_choice(choice, finish))


def _answer(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    """Questions: answered from the procedure and the record, nothing changes."""
    answers, want = talk.answers, talk.job.wants
    one = talk.moves.set_of(want)
    if heard.intent == "why" and one is not None and moves_left(talk.job.procedure, talk.job.state, want.step):
        return _say(talk, talk.moves.why(one))
    thing = heard.slots.get("thing", "")
    told: dict[str, Callable[[], str]] = {
        "why": lambda: talk.opening.why() or answers.why(want),
        "how": lambda: answers.how(want),
        "show-me": lambda: answers.how(want),
        "mistake": lambda: answers.mistake(want),
        "whats-next": lambda: answers.next(want),
        "progress": lambda: answers.progress(want),
        "what-did-we-get": lambda: answers.what_did_we_get(thing),
        "in-millimetres": lambda: answers.converted(thing, metric=True),
        "in-inches": lambda: answers.converted(thing, metric=False),
        "what-is-stale": answers.stale,
        "who-is-here": answers.who,
        "who-leads": answers.who_leads,
        "what-was-conceded": answers.conceded,
        "wait-left": lambda: answers.wait_left(talk.job.clock.now()),
    }
    return _say(talk, told[heard.intent]())


def _opening(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    """Questions about the opening and what fits it."""
    asked: dict[str, Callable[[], list[Turn]]] = {
        "will-it-fit": talk.opening.will_it_fit,
        "what-size": talk.opening.what_size,
        "which-is-off": talk.opening.which_is_off,
        "how-thick": lambda: talk.opening.how_thick(heard.slots.get("thing", "")),
        "working": talk.opening.working,
    }
    return asked[heard.intent]()


def _lead(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    return _say(talk, talk.wording.say("lead.not-asked"))


def _clear(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    return _say(talk, talk.wording.say("hurt.nobody"))


def _never_mind(talk: Session, text: str, heard: Understanding, by: str) -> list[Turn]:
    return _say(talk, talk.wording.say("form.nothing-to-drop"))


Intent = Callable[["Session", str, Understanding, str], list[Turn]]

OF_THE_OPENING = frozenset({"will-it-fit", "what-size", "which-is-off", "how-thick", "working"})

QUESTIONS = frozenset(
    {
        "why",
        "how",
        "show-me",
        "mistake",
        "whats-next",
        "progress",
        "what-did-we-get",
        "in-millimetres",
        "in-inches",
        "what-is-stale",
        "who-is-here",
        "who-leads",
        "what-was-conceded",
        "wait-left",
    }
)

INTENTS: Mapping[str, Intent] = {
    **dict.fromkeys(QUESTIONS, _answer),
    **dict.fromkeys(OF_THE_OPENING, _opening),
    "done": _done,
    "yes": _done,
    "good": _done,
    "no": _no,
    "stop": _stop,
    "go-on": _go_on,
    "repeat": _repeat,
    "tolerance": _tolerance,
    "help": _help,
    "go-back": _go_back,
    "undo": _go_back,
    "redo": _redo,
    "skip": _skip,
    "already-did": _already,
    "moved": _moved,
    "correct": _correct,
    "change": _correct,
    "concede": _concede,
    "speaker": _speaker,
    "note": _note,
    "cant": _cant,
    **dict.fromkeys(WORK_QUESTIONS, _work),
    "cant-move": _moves,
    "can-move": _moves,
    "list-moves": _moves,
    "why-move": _moves,
    "all-made": _moves,
    "lead-is": _lead,
    "lead-decides": _lead,
    "all-clear": _clear,
    "never-mind": _never_mind,
}

AT_ANY_MOMENT = (
    QUESTIONS
    | OF_THE_OPENING
    | {
        "stop",
        "repeat",
        "tolerance",
        "help",
        "speaker",
        "note",
        "moved",
        "correct",
        "go-on",
        "can-move",
        "why-move",
        "list-moves",
    }
)
"""What is understood also while a small dialogue is open."""

PUTS_RIGHT = frozenset({"correct", "change"})
"""What replaces something that was said before."""
MAY_BE_TEXT = frozenset({"note", "correct", "moved", "speaker", "go-on", "what-did-we-get", "why", "how"})
"""What may be meant as the answer itself, where free words are asked for."""

MAY_BE_NAME = frozenset({"speaker"})
"""The same where a name is asked for."""
