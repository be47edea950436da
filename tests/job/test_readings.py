"""Readings taken and corrected: what is refused, how it is judged, what a round comes to, who relied on it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from driving import LEAD, Drive, drive

from guide.job import commands as cmd
from guide.job import events as ev
from guide.quantity import Quantity, quantity

SILL = """
format: 1
title: Fit a sill
states: {sill: the sill}
facts: {most: {value: 1/8 in, standing: common practice}}
readings:
  width: {ask: Width, at: [left, right], keep: smallest, likely: 10 in to 100 in}
  wood: {ask: Which wood, answer: choice, options: {oak: oak, pine: pine}, good: oak}
  maker: {ask: Who made it, answer: name}
  proud: {ask: How far proud, about: flush}
  tilt: {ask: Tilt, about: level, at: [front, back],
    sign: {plus: the right is high, minus: the left is high, toward: right, away: left}}
  sound: {ask: Is it sound, answer: yes-no, good: "yes"}
  gap: {ask: Gap, about: gap, at: [left, right], likely: 0 in to 1 in}
worked: {length: width - 1/2 in}
steps:
  width: {say: Measure., take: width}
  wood: {after: width, take: wood}
  maker: {after: wood, take: maker}
  fit: {after: maker, say: "Fit {length}.", disturbs: [sill]}
  proud: {after: fit, take: proud, within: at most 1/16 in, watches: [sill]}
  tilt: {after: proud, take: tilt, within: -1 in to 1 in, even: most, watches: [sill],
    out: {adjust: [sill], say: {plus: "Lower {place} by {by}.", minus: "Raise {place} by {by}."}}}
  sound: {after: tilt, take: sound, watches: [sill]}
  gap: {after: sound, take: gap, within: 0 in to length / 100, watches: [sill]}
  seal: {needs: [gap, tilt], say: Seal it.}
"""


def q(text: str) -> Quantity:
    return quantity(text)


def sill() -> Drive:
    job = drive(SILL)
    job.begin()
    return job


def up_to(step: str) -> Drive:
    """A sill on which all before this step is good, and the step is begun."""
    job = drive(SILL)
    answers = {"width": ("20 in", "21 in"), "wood": ("oak",), "maker": ("Bo",), "proud": ("0 in",)}
    answers |= {"tilt": ("0 in", "0 in"), "sound": ("yes",), "gap": ("0 in", "0 in")}
    for name in job.procedure.order:
        job.begin()
        if name == step:
            break
        job.read(*answers[name]) if name in answers else job.finish(name)
    return job


def kinds(events: list[ev.Event]) -> list[str]:
    return [event.kind for event in events]


# What is refused


def test_a_reading_is_refused_with_its_reason() -> None:
    job = sill()
    assert job.why(cmd.Take("nothing", "left", q("20 in"))) == ("no-such-step", "nothing", ())
    assert job.why(cmd.Take("wood", "", "oak")) == ("not-yet", "wood", ("width",))
    assert job.why(cmd.Take("maker", "", "Bo")) == ("not-yet", "maker", ("wood",))
    assert job.why(cmd.Take("width", "top", q("20 in"))) == ("no-such-place", "width", ("top", "left", "right"))
    assert job.why(cmd.Take("width", "left", "wide")) == ("not-a-number", "width", ())
    assert job.why(cmd.Take("width", "left", q("20 kg"))) == ("wrong-unit", "width", ("kg", "in"))
    assert job.why(cmd.Take("width", "left", q("-20 in"))) == ("negative", "width", ())
    job.read("20 in")
    assert job.why(cmd.Take("width", "left", q("21 in"))) == ("already-read", "width", ("left",))
    not_begun = drive(SILL)
    assert not_begun.why(cmd.Take("width", "left", q("20 in"))) == ("something-else-first", "width", ("begin",))


@pytest.mark.parametrize(
    ("step", "value", "code", "names"),
    [
        ("wood", q("2 in"), "not-words", ()),
        ("wood", "elm", "no-such-option", ("elm", "oak", "pine")),
        ("maker", q("2 in"), "not-words", ()),
        ("maker", " ", "not-words", ()),
        ("sound", "oak", "not-yes-or-no", ()),
        ("proud", "yes", "not-a-number", ()),
    ],
)
def test_an_answer_of_another_kind(step: str, value: ev.Value, code: str, names: tuple[str, ...]) -> None:
    assert up_to(step).why(cmd.Take(step, "", value)) == (code, step, names)


@pytest.mark.parametrize(("step", "value"), [("wood", "pine"), ("maker", "elm"), ("maker", "no"), ("sound", "no")])
def test_an_answer_in_words_of_its_own_kind(step: str, value: str) -> None:
    (took, *_) = up_to(step).do(cmd.Take(step, "", value))
    assert isinstance(took, ev.Took)
    assert took.value == value


def limited(within: str, likely: str = "", about: str = "gap") -> Drive:
    """One check of a number with these limits, begun."""
    also = f", likely: {likely}" if likely else ""
    job = drive(
        f"""
format: 1
title: t
readings:
  base: {{ask: Base, likely: 1 in to 3 in}}
  gap: {{ask: Gap, about: {about}{also}}}
steps:
  base: {{take: base}}
  gap: {{after: base, take: gap{within}}}
"""
    )
    job.read("2 in")
    job.begin()
    return job


def test_a_number_below_zero_is_refused_where_it_can_mean_nothing() -> None:
    minus = cmd.Take("gap", "", q("-1/16 in"))
    for job in (
        limited(", within: at most 1 in"),
        limited(", within: 0 in to 1 in"),
        limited(", within: at most 1 in", likely="0 in to base"),
        limited("", likely="base - 2 in to base"),
        limited(", within: 1/2 in to 1 in"),
    ):
        assert job.why(minus) == ("negative", "gap", ())
    assert limited(", within: at most 1 in", about="flush").do(minus)


def test_a_number_may_be_below_zero_where_what_is_likely_comes_out_below_zero() -> None:
    assert limited("", likely="base - 3 in to base").do(cmd.Take("gap", "", q("-1/16 in")))


def test_where_a_limit_or_what_is_likely_lies_below_zero_so_may_the_number() -> None:
    text = """
format: 1
title: t
readings:
  base: {ask: Base, likely: 1 in to 3 in}
  step: {ask: Step, about: gap, likely: -1/2 in to base, sign: {plus: up, minus: down}}
steps:
  base: {take: base}
  step: {after: base, take: step}
"""
    job = drive(text)
    job.read("2 in")
    job.begin()
    assert job.do(cmd.Take("step", "", q("-1/16 in")))


def test_a_limit_whose_figure_is_not_known_or_can_not_be_worked_out() -> None:
    job = limited(", within: 0 in to 1 in / (base - 2 in) * 1 in")
    (code, step, names) = job.why(cmd.Take("gap", "", q("1 in")))
    assert (code, step) == ("figure-fails", "gap")
    assert names and "zero" in names[0]
    unread = limited(", within: 0 in to base")
    unread.state.steps["base"].last.clear()
    assert unread.why(cmd.Take("gap", "", q("1 in"))) == ("figure-missing", "gap", ("base",))


# How it is judged


def test_a_reading_is_kept_with_its_verdict_limits_round_and_how_it_was_heard() -> None:
    job = up_to("gap")
    heard = ev.Heard("an eighth", hair=-1)
    (took,) = job.do(cmd.Take("gap", "left", q("1/8 in"), heard, surprising=True))
    assert took == ev.Took(
        "gap",
        "gap",
        "left",
        q("1/8 in"),
        "good",
        q("0 in"),
        q("39/200 in"),
        1,
        heard,
        surprising=True,
    )


@pytest.mark.parametrize(
    ("value", "hair", "verdict"),
    [
        ("39/200 in", 0, "good"),
        ("39/200 in", 1, "out"),
        ("39/200 in", -1, "good"),
        ("0 in", -1, "out"),
        ("0 in", 1, "good"),
    ],
)
def test_a_hair_past_a_limit_is_past_it(value: str, hair: int, verdict: str) -> None:
    (took,) = up_to("gap").do(cmd.Take("gap", "left", q(value), ev.Heard(value, hair=hair)))
    assert isinstance(took, ev.Took)
    assert took.verdict == verdict


def test_the_round_counts_what_failed_before() -> None:
    job = up_to("proud")
    job.read("1 in")
    job.do(cmd.Adjust("proud"))
    took, advised = job.read("2 in")
    assert isinstance(took, ev.Took) and isinstance(advised, ev.Advised)
    assert (took.round, advised.round) == (2, 2)


def test_a_number_that_nothing_judges_is_noted_and_one_without_limits_but_even_is_good() -> None:
    (took,) = sill().do(cmd.Take("width", "left", q("20 in")))
    assert isinstance(took, ev.Took)
    assert took.verdict == "noted"
    job = drive(
        "{format: 1, title: t, readings: {g: {ask: G, at: [a, b], likely: 0 in to 9 in}}, "
        "steps: {g: {take: g, even: 1 in}}}"
    )
    events = job.read("1 in")
    assert isinstance(events[0], ev.Took)
    assert events[0].verdict == "good"


def test_a_round_with_every_place_good_ends_the_check_and_begins_its_wait() -> None:
    text = SILL.replace("tilt: {after: proud,", "tilt: {after: proud, wait: {time: 1 h, for: rest},")
    job = drive(text)
    job.read("20 in", "21 in", "oak", "Bo")
    job.finish("fit")
    job.read("0 in", "0 in")
    assert kinds(job.read("1/8 in")) == ["took", "done"], "as far apart as allowed"
    assert job.entries[-1].event == ev.Done("tilt", until=job.now + timedelta(hours=1))


def test_places_too_far_apart_bring_advice_though_each_is_good() -> None:
    job = up_to("tilt")
    assert kinds(job.read("0 in")) == ["took"]
    _, advised = job.read("3/16 in")
    assert advised == ev.Advised(
        "tilt",
        1,
        ("front", "back"),
        (q("0 in"), q("3/16 in")),
        ("Lower back by 3/16 in.",),
        ("sill",),
        {"uneven": "3/16 in", "even": "1/8 in", "back: by": "3/16 in", "back: over": "1/16 in"},
    )


def test_an_evenness_worked_out_from_a_reading() -> None:
    job = drive(
        """
format: 1
title: t
readings: {base: {ask: Base, likely: 1 in to 3 in}, gap: {ask: Gap, at: [a, b], likely: 0 in to 9 in}}
steps: {base: {take: base}, gap: {after: base, take: gap, even: base / 2}}
"""
    )
    job.read("2 in", "1 in")
    assert kinds(job.read("2 1/4 in"))[-1] == "advised"


def test_advice_may_name_the_reading_itself() -> None:
    job = drive(
        """
format: 1
title: t
states: {leg: the leg}
readings: {gap: {ask: Gap, at: [a, b], about: gap}}
steps:
  set: {say: Set it., disturbs: [leg]}
  gap: {after: set, take: gap, within: 0 in to 1/8 in, watches: [leg],
    out: {adjust: [leg], say: {plus: "Close it from {gap.b}.", minus: Open it.}}}
"""
    )
    job.finish("set")
    job.read("1/8 in")
    _, advised = job.read("1/2 in")
    assert isinstance(advised, ev.Advised)
    assert advised.say == ("Close it from 1/2 in.",)
    job.do(cmd.Adjust("gap"))
    _, advised = [*job.read("1/8 in"), *job.read("3/4 in")][1:]
    assert isinstance(advised, ev.Advised)
    assert advised.say == ("Close it from 3/4 in.",), "this round's figure, not the one before"


# Corrections


def test_a_correction_is_refused_with_its_reason() -> None:
    job = up_to("proud")
    assert job.why(cmd.Correct("nothing", "", q("1 in"))) == ("no-such-step", "nothing", ())
    assert job.why(cmd.Correct("fit", "", q("1 in"))) == ("no-such-step", "fit", ())
    assert job.why(cmd.Correct("proud", "", q("1 in"))) == ("nothing-to-correct", "proud", ("",))
    assert job.why(cmd.Correct("width", "top", q("1 in"))) == ("nothing-to-correct", "width", ("top",))
    assert job.why(cmd.Correct("width", "left", q("20 in"))) == ("same-value", "width", ("left",))
    assert job.why(cmd.Correct("width", "left", "wide")) == ("not-a-number", "width", ())
    assert job.why(cmd.Correct("width", "left", q("-1 in"))) == ("negative", "width", ())


def test_a_hair_is_a_difference() -> None:
    job = up_to("gap")
    job.read("0 in")
    (corrected,) = job.do(cmd.Correct("gap", "left", q("0 in"), ev.Heard("zero strong", hair=1)))
    assert isinstance(corrected, ev.Corrected)
    assert job.why(cmd.Correct("gap", "left", q("0 in"), ev.Heard("zero strong", hair=1)))[0] == "same-value"


def test_a_correction_is_kept_whole_with_the_entry_it_replaces() -> None:
    job = up_to("gap")
    job.read("1/8 in", "1/8 in")
    replaced = job.state.steps["gap"].last["right"].seq
    heard = ev.Heard("a sixteenth")
    (corrected,) = job.do(cmd.Correct("gap", "right", q("1/16 in"), heard, surprising=True))
    assert corrected == ev.Corrected(
        replaced,
        "gap",
        "gap",
        "right",
        q("1/16 in"),
        "good",
        q("0 in"),
        q("39/200 in"),
        1,
        heard,
        surprising=True,
    )


def test_a_correction_keeps_the_round_it_belongs_to() -> None:
    job = up_to("proud")
    job.read("1 in")
    job.do(cmd.Adjust("proud"))
    (corrected, *_) = job.do(cmd.Correct("proud", "", q("2 in")))
    assert isinstance(corrected, ev.Corrected)
    assert corrected.round == 1, "the reading of the round before"


def test_a_correction_of_the_round_before_judges_nothing() -> None:
    job = up_to("proud")
    job.read("1 in")
    job.do(cmd.Adjust("proud"))
    assert kinds(job.do(cmd.Correct("proud", "", q("0 in")))) == ["corrected"]
    assert (job.wants.step, job.wants.round) == ("proud", 2)


def test_a_round_corrected_to_good_is_done_as_of_now_and_one_that_stays_good_says_nothing_more() -> None:
    text = SILL.replace("proud: {after: fit,", "proud: {after: fit, wait: {time: 1 h, for: rest},")
    job = drive(text)
    job.read("20 in", "21 in", "oak", "Bo")
    job.finish("fit")
    job.read("1 in")
    _, done = job.do(cmd.Correct("proud", "", q("0 in")))
    assert done == ev.Done("proud", until=job.now + timedelta(hours=1))
    assert kinds(job.do(cmd.Correct("proud", "", q("1/16 in")))) == ["corrected"]


def test_a_round_corrected_to_out_puts_in_doubt_what_was_done_because_it_was_good() -> None:
    job = up_to("seal")
    job.finish("seal")
    corrected, advised = job.do(cmd.Correct("gap", "left", q("1 in")))
    assert isinstance(corrected, ev.Corrected) and isinstance(advised, ev.Advised)
    assert (corrected.doubts, advised.places, advised.values) == (("seal",), ("left", "right"), (q("1 in"), q("0 in")))


def test_a_round_that_stays_good_puts_nothing_in_doubt() -> None:
    job = up_to("seal")
    job.finish("seal")
    (corrected,) = job.do(cmd.Correct("gap", "left", q("1/16 in")))
    assert isinstance(corrected, ev.Corrected)
    assert corrected.doubts == ()


def test_a_check_whose_correction_names_its_own_reading_is_not_put_in_doubt_by_it() -> None:
    text = SILL.replace(
        "length / 100, watches: [sill]}",
        "length / 100, watches: [sill], out: {adjust: [sill], say: 'It was {gap.left}.'}}",
    )
    job = drive(text)
    job.read("20 in", "21 in", "oak", "Bo")
    job.finish("fit")
    job.read("0 in", "0 in", "0 in", "yes", "1 in", "0 in")
    assert job.procedure.steps["gap"].uses.count("gap.left") == 1
    for value in ("2 in", "1/16 in"):
        (corrected, *_) = job.do(cmd.Correct("gap", "left", q(value)))
        assert isinstance(corrected, ev.Corrected)
        assert corrected.doubts == ()
    job.do(cmd.Redo("gap"))
    (took,) = job.do(cmd.Take("gap", "left", q("1/8 in")))
    assert isinstance(took, ev.Took)
    assert took.doubts == ()


def test_a_round_corrected_from_out_to_out_puts_nothing_in_doubt() -> None:
    job = up_to("gap")
    job.read("0 in", "1 in")
    corrected, _ = job.do(cmd.Correct("gap", "right", q("2 in")))
    assert isinstance(corrected, ev.Corrected)
    assert corrected.doubts == ()


def test_half_a_round_corrected_is_not_judged_yet() -> None:
    job = up_to("gap")
    job.read("1 in")
    assert kinds(job.do(cmd.Correct("gap", "left", q("0 in")))) == ["corrected"]
    assert kinds(job.read("0 in")) == ["took", "done"]


def test_a_stale_round_under_way_that_is_corrected_is_judged_anew_and_doubts_nothing() -> None:
    job = up_to("seal")
    job.finish("seal")
    job.do(cmd.Moved(("sill",)))
    job.read("0 in", "0 in", "0 in", "yes", "0 in")
    assert (job.wants.step, job.wants.place) == ("gap", "right")
    corrected = job.do(cmd.Correct("gap", "left", q("1/16 in")))
    assert kinds(corrected) == ["corrected"]
    assert isinstance(corrected[0], ev.Corrected)
    assert corrected[0].doubts == ()


def test_a_conceded_check_corrected_is_judged_anew() -> None:
    job = up_to("gap")
    job.read("1 in", "0 in")
    job.do(cmd.Decide("gap", "concede", LEAD, "it is old"))
    assert kinds(job.do(cmd.Correct("gap", "left", q("0 in")))) == ["corrected", "done"]
    assert job.state.steps["gap"].concession is None


def test_readings_and_checks_that_relied_on_a_figure_are_in_doubt_only_where_it_changes_theirs() -> None:
    job = up_to("gap")
    job.read("0 in")
    (corrected,) = job.do(cmd.Correct("width", "left", q("19 in")))
    assert isinstance(corrected, ev.Corrected)
    assert corrected.doubts == ("fit", "gap"), "the fit by its words, the gap by its limits though read in part"
    same = up_to("gap")
    (corrected,) = same.do(cmd.Correct("width", "right", q("22 in")))
    assert isinstance(corrected, ev.Corrected)
    assert corrected.doubts == (), "the smallest stays the smallest"
    not_begun = up_to("gap")
    (corrected,) = not_begun.do(cmd.Correct("width", "left", q("19 in")))
    assert isinstance(corrected, ev.Corrected)
    assert corrected.doubts == ("fit",)


def test_a_check_that_is_out_relied_on_its_figure_too() -> None:
    job = up_to("gap")
    job.read("1 in", "1 in")
    (corrected, *_) = job.do(cmd.Correct("width", "left", q("19 in")))
    assert isinstance(corrected, ev.Corrected)
    assert corrected.doubts == ("fit", "gap")


def test_a_new_round_with_another_value_doubts_as_a_correction_does_and_not_itself() -> None:
    job = up_to("seal")
    job.do(cmd.Redo("width"))
    (took,) = job.do(cmd.Take("width", "left", q("20 in")))
    assert isinstance(took, ev.Took)
    assert took.doubts == ()
    (took, *_) = job.do(cmd.Take("width", "right", q("22 in")))
    assert isinstance(took, ev.Took)
    assert took.doubts == (), "the smallest stays the smallest"
    job = up_to("seal")
    job.do(cmd.Redo("width"))
    (took,) = job.do(cmd.Take("width", "left", q("18 in")))
    assert isinstance(took, ev.Took)
    assert took.doubts == ("fit", "gap")
