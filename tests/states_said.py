"""What crews say of checks by place that have no number, and what is meant by it."""

from __future__ import annotations

THREE = ("top", "middle", "bottom")
TWO = ("top", "bottom")
DOORS = ("left door", "right door")
SIDES = ("hinge side", "lock side")
ROOMS = ("from inside", "from outside")
HEADS = ("head", "latch", "sill")
HINGES = ("left top", "left middle", "left bottom", "right top", "right middle", "right bottom")
LATCHES = ("top latch", "bottom latch")

EACH_PLACE = [
    ("top works, middle binds, bottom works", THREE, "yny"),
    ("top works middle binds bottom works", THREE, "yny"),
    ("top works and the middle binds and the bottom works", THREE, "yny"),
    ("Top works. Middle binds. Bottom works.", THREE, "yny"),
    ("works at the top, binds in the middle, works at the bottom", THREE, "yny"),
    ("works at the top binds in the middle works at the bottom", THREE, "yny"),
    ("yes at the top, no at the bottom", THREE, "y-n"),
    ("yes at the top no at the bottom", THREE, "y-n"),
    ("top yes middle no bottom yes", THREE, "yny"),
    ("yes top no middle yes bottom", THREE, "yny"),
    ("top, yes; bottom: no", TWO, "yn"),
    ("top=yes / bottom=no", TWO, "yn"),
    ("top is good, bottom's binding", TWO, "yn"),
    ("top gap bottom fine", TWO, "ny"),
    ("gap at the top, bottom touches evenly", TWO, "ny"),
    ("top latches and locks, bottom won't lock", TWO, "yn"),
    ("top latches but won't lock", TWO, "n-"),
    ("top and bottom work, middle binds", THREE, "yny"),
    ("top and bottom work but the middle binds", THREE, "yny"),
    ("middle binds top and bottom work", THREE, "yny"),
    ("top, middle and bottom work", THREE, "yyy"),
    ("no at the top and bottom works", TWO, "ny"),
    ("works at the bottom not at the top", THREE, "n-y"),
    ("left yes, right no", DOORS, "yn"),
    ("left door works right door binds", DOORS, "yn"),
    ("right binds", DOORS, "-n"),
    ("works on the left, binds on the right", DOORS, "yn"),
    ("hinge touches, lock side bulges", SIDES, "yn"),
    ("gap on the hinge side", SIDES, "n-"),
    ("locks from inside, won't lock from the outside", ROOMS, "yn"),
    ("inside yes outside no", ROOMS, "yn"),
    ("opening is fine, shutting it sticks", ("opening", "shutting"), "yn"),
    ("works when opening, sticks when shutting", ("opening", "shutting"), "yn"),
    ("left top binds", HINGES, "n-----"),
    ("won't lock at the hinge side, sticks at the lock side", SIDES, "nn"),
    ("doesn't latch at the sill, latch works", HEADS, "-yn"),
    ("head and sill latch", HEADS, "y-y"),
    ("binds at the head", HEADS, "n--"),
    ("won't throw at the latch", HEADS, "-n-"),
    ("it latches at the head, sill binds", HEADS, "y-n"),
    ("okay so top works", THREE, "y--"),
    ("yeah top binds", THREE, "n--"),
    ("top latch binds bottom latch works", TWO, "ny"),
    ("top does, bottom doesn't", TWO, "yn"),
    ("top closes right, bottom is right fine", TWO, "yy"),
]
"""Words, the places, and y, n or - for each place."""
ALL_OR_THE_REST = [
    ("both work", DOORS, "yy"),
    ("both latch", DOORS, "yy"),
    ("both doors swing free", DOORS, "yy"),
    ("they both stick", DOORS, "nn"),
    ("yes to both", TWO, "yy"),
    ("no at both", TWO, "nn"),
    ("all yes", THREE, "yyy"),
    ("all three work", THREE, "yyy"),
    ("all of them latch", THREE, "yyy"),
    ("each one works", THREE, "yyy"),
    ("neither works", TWO, "nn"),
    ("neither door latches", DOORS, "nn"),
    ("none of them work", THREE, "nnn"),
    ("top binds, the rest are fine", THREE, "nyy"),
    ("top binds the others work", THREE, "nyy"),
    ("top binds, middle binds, the other one works", THREE, "nny"),
    ("left binds, the other works", DOORS, "ny"),
]
"""The same, for all places at once or those that are left."""
NO_PLACE = [
    ("it latches", HEADS, "?y"),
    ("it won't latch", HEADS, "?n"),
    ("won't throw", HEADS, "?n"),
    ("yes", HEADS, "?y"),
    ("binds at the head", THREE, "?n"),
    ("the door closes fine", DOORS, "?y"),
    ("the latch works", LATCHES, "?y"),
    ("it latches and locks", TWO, "?y"),
    ("it touches evenly all round", SIDES, "?y"),
    ("binds at the head", (), "?n"),
]
"""Words that name no place, and what they say of the one that is asked for."""
EITHER_PLACE = [
    ("no, it binds on the right side", DOORS, {"-n", "?n"}),
    ("gap on the right", DOORS, {"-n", "?n"}),
    ("won't lock outside", ROOMS, {"-n", "?n"}),
    ("swings free on the left", DOORS, {"y-", "?y"}),
]
"""Words that may name a place, or where on the thing that is asked about."""
