"""Procedures that share files: read as one, in the procedure's own order, each fault with its place in its file."""

from __future__ import annotations

from pathlib import Path

import pytest
from faulty import marked

from guide.problems import ProblemError
from guide.procedure import examine, load, load_sources, load_text, shipped
from guide.procedure.model import SourceFile
from guide.procedure.shares import MOST_SHARED

MAIN = """format: 1
title: Hang a pair of doors
shares: shared/doors.yaml
facts:
  gap: {value: 1/8 in, standing: invented}
steps:
  survey:  {shared: yes}
  pair-up: {after: survey, say: Pair them up.}
  hang:    {shared: yes, part: Hanging, after: pair-up}
"""
PART = """format: 1
facts:
  play: {value: 1/4 in, standing: invented}
readings:
  width: {ask: Width, likely: 20 in to 90 in}
  room:  {ask: Room beside it, about: gap}
steps:
  survey: {part: Looking, say: "Leave {gap}.", take: width}
  hang:   {after: survey, take: room, within: gap to play + 1 in}
"""

Fault = tuple[str, str | None]


def written(folder: Path, files: dict[str, str]) -> dict[str, list[tuple[int, int]]]:
    """Write the files, without their marks; where the marks of each stood."""
    spots = {}
    for name, text in files.items():
        clean, spots[name] = marked(text)
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(clean, encoding="utf-8")
    return spots


def assert_told(folder: Path, files: dict[str, str], expected: list[Fault]) -> None:
    """The first file has these faults and no others; every mark in every file is the place of a fault or belongs to it.

    The author's line that each place quotes is the line of its own file.
    """
    spots = written(folder, files)
    procedure, faults, _ = examine(folder / next(iter(files)))
    assert procedure is None
    assert [(fault.message.replace(f"{folder}/", ""), fault.hint) for fault in faults] == expected
    places = [place for f in faults for place in (f.place, *(also for _, also in f.also)) if place is not None]
    for name in files:
        mine = [place for place in places if place.file == str(folder / name)]
        assert {(place.line, place.column) for place in mine} == set(spots[name]), name
        lines = (folder / name).read_text(encoding="utf-8").split("\n")
        assert all(place.text == lines[place.line - 1] for place in mine)
    assert all(f.place is not None for f in faults)
    assert {place.file for place in places} <= {str(folder / name) for name in files}


def test_the_files_are_read_as_one_in_the_order_of_the_procedure(tmp_path: Path) -> None:
    written(tmp_path, {"pair.yaml": MAIN, "shared/doors.yaml": PART})
    procedure, faults, remarks = examine(tmp_path / "pair.yaml")
    assert procedure is not None
    assert (faults, remarks) == ([], [])
    assert (procedure.name, procedure.order) == ("pair", ("survey", "pair-up", "hang"))
    assert [step.part for step in procedure.steps.values()] == ["Looking", "Looking", "Hanging"]
    assert procedure.steps["hang"].after == ("pair-up", "survey")
    assert list(procedure.facts) == ["play", "gap"]
    assert procedure.parts == ("Looking", "Hanging")


def test_two_procedures_share_one_file_and_only_their_own_differs(tmp_path: Path) -> None:
    other = MAIN.replace("a pair of doors", "a door").replace(", after: pair-up", "")
    other = other.replace("  pair-up: {after: survey, say: Pair them up.}\n", "")
    written(tmp_path, {"pair.yaml": MAIN, "single.yaml": other, "shared/doors.yaml": PART})
    assert load(tmp_path / "single.yaml").order == ("survey", "hang")
    assert load(tmp_path / "pair.yaml").order == ("survey", "pair-up", "hang")


def test_a_record_s_sources_alone_give_the_same_procedure(tmp_path: Path) -> None:
    written(tmp_path, {"pair.yaml": MAIN, "shared/doors.yaml": PART})
    procedure = load(tmp_path / "pair.yaml")
    assert procedure.sources == (SourceFile("pair.yaml", MAIN), SourceFile("shared/doors.yaml", PART))
    for path in (tmp_path / "pair.yaml", tmp_path / "shared/doors.yaml"):
        path.unlink()
    assert load_sources(procedure.sources) == procedure


def test_the_hash_is_over_all_files() -> None:
    one = load_sources((SourceFile("pair.yaml", MAIN), SourceFile("shared/doors.yaml", PART)))
    two = load_sources((SourceFile("pair.yaml", MAIN), SourceFile("shared/doors.yaml", PART + "# later\n")))
    assert one.sha256 != two.sha256


def test_sources_that_do_not_belong_together() -> None:
    main, part = SourceFile("pair.yaml", MAIN), SourceFile("shared/doors.yaml", PART)
    for given in ((main, part, SourceFile("other.yaml", PART)), (main, part, part)):
        with pytest.raises(ProblemError) as raised:
            load_sources(given)
        (fault,) = raised.value.problems
        assert fault.message == "the files do not belong together: pair.yaml shares shared/doors.yaml"
        assert fault.hint == "The record was not written by this guide."
    with pytest.raises(ProblemError) as raised:
        load_sources((main, SourceFile("shared/door.yaml", PART)))
    (fault,) = raised.value.problems
    assert (fault.message, str(fault.place)) == (
        'there is no file "shared/doors.yaml" among those given',
        "pair.yaml:3:9",
    )
    assert fault.hint == 'Did you mean "shared/door.yaml"?'


def test_a_text_by_itself_has_nothing_to_share() -> None:
    with pytest.raises(ProblemError) as raised:
        load_text("pair.yaml", MAIN)
    (fault,) = raised.value.problems
    assert fault.message == 'there is no file "shared/doors.yaml": this procedure is one text by itself'
    assert str(fault.place) == "pair.yaml:3:9"


KEPT = "Keep one of them: what is shared can be added to, not changed."
NAMED = "Write it from this file's folder down, such as \"shared/doors.yaml\"; it can't lie outside that folder."
TABLES = "Put it in the procedure's own file; a shared part holds tables only."

FAULTS: dict[str, tuple[str, str, list[Fault]]] = {
    "a name in both files": (
        MAIN.replace("  gap:", "  ▸play: {value: 1 in, standing: invented}\n  gap:"),
        PART.replace("play:", "▸play:"),
        [('fact "play" stands in two files', KEPT)],
    ),
    "a step in both files": (
        MAIN.replace("hang:    {shared: yes, part: Hanging, after: pair-up}", "▸hang: {after: survey, say: Hang it.}"),
        PART.replace("hang:  ", "▸hang:  "),
        [('step "hang" stands in two files', KEPT)],
    ),
    "a shared step changed": (
        MAIN.replace("{shared: yes}", "{shared: yes, say: ▸Look., caution: [▸]}".replace("[▸]", "▸[]")),
        PART,
        [
            (
                f'step "survey" is shared, and "{key}" can\'t be set here',
                'Only "part", "after" and "needs" are added to a shared step; the rest stands in the shared part.',
            )
            for key in ("say", "caution")
        ],
    ),
    "a part given twice": (
        MAIN.replace("survey:  {shared: yes}", "survey:  {shared: yes, part: ▸First}"),
        PART.replace("{part: Looking", "{part: ▸Looking"),
        [('step "survey" has its "part" already', "Keep one of them.")],
    ),
    "a shared step misspelt": (
        MAIN.replace("survey:  {", "▸survay:  {"),
        PART.replace("survey: {part", "▸survey: {part"),
        [
            ('no shared part has step "survay"', 'Did you mean "survey"?'),
            (
                'step "survey" is shared, and the procedure gives it no place in its order',
                'Add to "steps" of the procedure: survey: {shared: yes}.',
            ),
        ],
    ),
    "a shared step that is nowhere": (
        MAIN + "  ▸zzz: {shared: yes}\n",
        PART,
        [('no shared part has step "zzz"', 'Name the file that holds it in "shares".')],
    ),
    "an added step that is not there": (
        MAIN.replace("after: pair-up}", "after: ▸pair-upp}"),
        PART,
        [('unknown step "pair-upp" in "after" of step "hang"', 'Did you mean "pair-up"?')],
    ),
    "a figure unknown to the shared file": (
        MAIN,
        PART.replace("{gap}", "▸{gapp}").replace("within: gap", "within: ▸gapp"),
        [
            ('unknown name "gapp" in "say" of step "survey"', 'Did you mean "gap"?'),
            ('unknown name "gapp" in "within" of step "hang"', 'Did you mean "gap"?'),
        ],
    ),
    "a ring through both files": (
        MAIN.replace("pair-up: {after: survey,", "pair-up: {after: ▸hang,"),
        PART.replace("hang:  ", "▸hang:  "),
        [
            (
                "these steps wait for each other and can't be reached: pair-up → hang → pair-up",
                'Take one of them out of "after" or "needs".',
            )
        ],
    ),
    "a comment that cuts words short": (
        MAIN,
        PART.replace(
            "ask: Width, likely: 20 in to 90 in", "ask: Width, how: Use the ▸#2 mark\n   , likely: 20 in to 90 in"
        ),
        [
            (
                '"#2 mark" is a comment to YAML, and not part of the text before it',
                'Put the whole text in quotes; if it is a comment, put a space after the "#".',
            )
        ],
    ),
    "keys of a procedure in a shared part": (
        MAIN,
        PART.replace("facts:", "▸title: Doors\n▸shares: other.yaml\nfacts:"),
        [
            ('"title" has no place in a shared part', TABLES),
            (
                '"shares" has no place in a shared part',
                "A shared part shares nothing further: name the file in the procedure.",
            ),
        ],
    ),
    "an unknown key in a shared part": (
        MAIN,
        PART.replace("facts:", "▸colour: red\nfacts:"),
        [
            (
                'unknown key "colour" in the shared part',
                "Its keys are format, states, facts, choices, readings, worked, cautions, make-safe, together, steps.",
            )
        ],
    ),
    "a shared part without its format": (
        MAIN,
        "▸" + PART.replace("format: 1\n", ""),
        [('the shared part has no "format"', 'Add the line "format: 1".')],
    ),
    "a shared part of another format": (
        MAIN,
        PART.replace("format: 1", "format: ▸2"),
        [
            (
                "the file has format 2, and this guide reads format 1",
                "Nothing else in it was checked. A newer guide may read it.",
            )
        ],
    ),
    "a shared part that is no table": (
        MAIN,
        "▸- one\n",
        [
            (
                "the file is not a table of keys and values",
                'Begin it with "format: 1" and "title: …", each on a line of its own.',
            )
        ],
    ),
    "a step shared from a shared part": (
        MAIN,
        PART.replace("{part: Looking,", "{part: Looking, shared: ▸yes,"),
        [('step "survey" stands in a shared part and can\'t be "shared" from elsewhere', "Take it out.")],
    ),
    "a file outside the folder": (
        MAIN.replace("shared/doors.yaml", "▸../doors.yaml"),
        PART,
        [('"../doors.yaml" can\'t be the name of a shared file', NAMED)],
    ),
    "a file from the root": (
        MAIN.replace("shared/doors.yaml", "▸/etc/doors.yaml"),
        PART,
        [('"/etc/doors.yaml" can\'t be the name of a shared file', NAMED)],
    ),
    "a file that is no procedure's": (
        MAIN.replace("shared/doors.yaml", "▸shared/doors"),
        PART,
        [('"shared/doors" can\'t be the name of a shared file', NAMED)],
    ),
    "the procedure itself": (
        MAIN.replace("shared/doors.yaml", "▸pair.yaml"),
        PART,
        [("a procedure can't share itself", "Take it out.")],
    ),
    "a file that is not there": (
        MAIN.replace("shared/doors.yaml", "▸shared/door.yaml"),
        PART,
        [("there is no file shared/door.yaml", 'Did you mean "shared/doors.yaml"?')],
    ),
    "a folder": (
        MAIN.replace("shared/doors.yaml", "[shared/doors.yaml, ▸drawer.yaml]"),
        PART,
        [("drawer.yaml is a folder", "Name a procedure file.")],
    ),
    "a file shared twice": (
        MAIN.replace("shared/doors.yaml", "[▸shared/doors.yaml, ▸shared/doors.yaml]"),
        PART,
        [('"shared/doors.yaml" is there twice in "shares" of the file', "Keep one of them.")],
    ),
    "no file": (
        MAIN.replace("shares: shared/doors.yaml", "▸shares:"),
        PART,
        [('"shares" of the file has no value', "It must be the name of a file, or a list of them.")],
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_fault(fault: str, tmp_path: Path) -> None:
    main, part, expected = FAULTS[fault]
    (tmp_path / "drawer.yaml").mkdir()
    assert_told(tmp_path, {"pair.yaml": main, "shared/doors.yaml": part}, expected)


def test_a_name_in_two_shared_files(tmp_path: Path) -> None:
    more = "format: 1\nfacts:\n  ▸play: {value: 1 in, standing: invented}\nsteps:\n  ▸hang: {say: Hang it.}\n"
    files = {
        "pair.yaml": MAIN.replace("shared/doors.yaml", "[shared/doors.yaml, shared/more.yaml]"),
        "shared/doors.yaml": PART.replace("play:", "▸play:").replace("hang:  ", "▸hang:  "),
        "shared/more.yaml": more,
    }
    assert_told(tmp_path, files, [('fact "play" stands in two files', KEPT), ('step "hang" stands in two files', KEPT)])


def test_a_link_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    written(tmp_path, {"in/pair.yaml": MAIN, "doors.yaml": PART})
    (tmp_path / "in/shared").mkdir()
    (tmp_path / "in/shared/doors.yaml").symlink_to(tmp_path / "doors.yaml")
    _, (fault,), _ = examine(tmp_path / "in/pair.yaml")
    path = tmp_path / "in/shared/doors.yaml"
    assert fault.message == f"{path} leads out of the procedure's folder"
    assert (fault.hint, fault.place and fault.place.line) == ("Put the file itself there.", 3)


def test_links_that_go_round_are_told(tmp_path: Path) -> None:
    written(tmp_path, {"pair.yaml": MAIN})
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared/doors.yaml").symlink_to(tmp_path / "shared/doors.yaml")
    _, (fault,), _ = examine(tmp_path / "pair.yaml")
    assert "can't be read" in fault.message


def test_no_more_than_so_many_files(tmp_path: Path) -> None:
    names = [f"part-{i}.yaml" for i in range(MOST_SHARED + 1)]
    written(tmp_path, {"pair.yaml": MAIN.replace("shared/doors.yaml", f"[{', '.join(names)}]")})
    written(tmp_path, dict.fromkeys(names, "format: 1\n"))
    _, faults, _ = examine(tmp_path / "pair.yaml")
    assert (faults[0].message, faults[0].hint) == (
        "a procedure shares 20 files at most, and here are 21",
        "Put some of them together.",
    )


def test_a_fault_of_syntax_in_a_shared_file_has_its_place_there(tmp_path: Path) -> None:
    written(tmp_path, {"pair.yaml": MAIN, "shared/doors.yaml": PART.replace("likely:", "likely: ]")})
    _, faults, _ = examine(tmp_path / "pair.yaml")
    assert {fault.place.file for fault in faults if fault.place} == {str(tmp_path / "shared/doors.yaml")}


def test_an_empty_shared_file_is_a_fault(tmp_path: Path) -> None:
    written(tmp_path, {"pair.yaml": MAIN, "shared/doors.yaml": ""})
    _, (fault,), _ = examine(tmp_path / "pair.yaml")
    assert fault.message == f"{tmp_path / 'shared/doors.yaml'} is empty"


def test_a_shared_part_is_no_procedure(tmp_path: Path) -> None:
    written(tmp_path, {"doors.yaml": PART.replace("{gap}", "{play}").replace("within: gap", "within: 0 in")})
    procedure, (fault,), _ = examine(tmp_path / "doors.yaml")
    assert procedure is None
    assert fault.message == 'the file has no "title"'
    assert all("shared" not in path.parts[-2:] for path in shipped().values())
