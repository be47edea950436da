"""A small invented procedure that has a little of everything, for tests of the talk."""

SHELF = """
format: 1
title: Hang a shelf frame
about: Invented, for tests.
states: {frame: the frame, pin: the pin}
choices:
  back: {ask: Is there a back, options: {board: with a back board, none: no back}}
readings:
  width: {ask: Width, at: [top, bottom], keep: smallest, likely: 10 in to 40 in, with: tape}
  square: {ask: Gap in the corner, at: [left, right], about: gap}
  level:
    ask: How far out of level
    over: 24 in
    about: level
    sign: {plus: the right end is high, minus: the left end is high, toward: right, away: left}
  held: {ask: Is it held, answer: yes-no, good: "yes"}
worked:
  shelf: width - 1/4 in
cautions: {weight: The frame is heavy and the saw cuts. Keep your fingers clear.}
make-safe:
  unsupported: {say: Prop the frame., why: It falls over., stays: yes, disturbs: [frame]}
steps:
  survey:
    part: Measure
    say: Measure the width.
    why: The shelf is cut to it.
    mistake: Measuring in one place only.
    how: Pull the tape tight.
    take: width
  cut: {after: survey, say: "Cut the shelf to {shelf}.", caution: weight, undo: "no"}
  set: {part: Set, after: cut, say: Set the frame., caution: weight, crew: 2, disturbs: [frame], leaves: unsupported}
  square:
    after: set
    say: Square it.
    take: square
    within: 0 in to 1/16 in
    watches: [frame]
    out: {adjust: [frame], say: {plus: "Close {place} by {by}.", minus: "Open {place} by {by}."}}
  level:
    after: set
    say: Level it.
    take: level
    within: -1/8 in to 1/8 in
    watches: [frame, pin]
    out: {adjust: [pin]}
  held: {after: set, say: See that it is held., take: held, watches: [frame], safety: "yes", out: {adjust: [frame]}}
  fix:
    needs: [square, level, held]
    say: Fix it.
    disturbs: [frame]
    secures: unsupported
    wait: {time: 30 min, for: the glue to set}
  back: {after: fix, when: {back: board}, say: Nail the back on., caution: weight, disturbs: [frame]}
  look: {after: [fix, back], say: The lead looks., hold: {by: lead, look: the whole frame}}
"""

START = ["no back"]
SURVEYED = [*START, "20", "20 1/8"]
CUT = [*SURVEYED, "understood", "done"]
SET = [*CUT, "understood", "yes", "done"]
CHECKED = [*SET, "0", "1/16", "0", "yes"]
"""Lines that take a shelf so far, for a crew whose name is known."""
