"""Finding and reading procedure files: whatever is wrong with the file is told, nothing else is raised."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from guide.problems import ProblemError
from guide.procedure import examine, files, load, load_sources, load_text, shipped
from guide.procedure.model import SourceFile

GOOD = "format: 1\ntitle: Set a shelf\nsteps: {set: {say: Set it.}}\n"


def told(path: str | Path) -> list[tuple[str, str | None]]:
    procedure, faults, remarks = examine(path)
    assert procedure is None
    assert remarks == []
    return [(fault.message, fault.hint) for fault in faults]


def test_a_file_is_loaded_by_its_path(tmp_path: Path) -> None:
    path = tmp_path / "shelf.yaml"
    path.write_text(GOOD, encoding="utf-8")
    procedure = load(path)
    assert (procedure.name, procedure.title) == ("shelf", "Set a shelf")
    assert procedure.sources == (SourceFile("shelf.yaml", GOOD),)
    assert load(str(path)) == procedure


def test_a_record_s_text_gives_the_same_procedure_and_hash(tmp_path: Path) -> None:
    path = tmp_path / "shelf.yaml"
    path.write_bytes(GOOD.replace("\n", "\r\n").encode())
    procedure = load(path)
    assert load_sources(procedure.sources) == procedure
    assert load_text("shelf.yaml", procedure.sources[0].text) == procedure


def test_the_hash_depends_on_every_character_and_on_the_name() -> None:
    hashes = {
        load_text(name, text).sha256
        for name, text in (
            ("a.yaml", GOOD),
            ("b.yaml", GOOD),
            ("a.yaml", GOOD + "\n"),
            ("a.yaml", GOOD.replace("Set it", "Set up")),
        )
    }
    assert len(hashes) == 4


def test_a_record_holds_the_files_of_its_procedure_and_no_others() -> None:
    with pytest.raises(ProblemError, match="a procedure is one file or more, and here is none"):
        load_sources(())
    with pytest.raises(ProblemError, match=r"the files do not belong together: a\.yaml shares none"):
        load_sources((SourceFile("a.yaml", GOOD), SourceFile("b.yaml", GOOD)))


def test_load_raises_every_fault_at_once(tmp_path: Path) -> None:
    path = tmp_path / "shelf.yaml"
    path.write_text(GOOD.replace("say", "saay").replace("title", "tittle"), encoding="utf-8")
    with pytest.raises(ProblemError) as raised:
        load(path)
    assert [problem.message for problem in raised.value.problems] == [
        'the file has no "title"',
        'unknown key "tittle" in the file',
        'step "set" has neither "say" nor "take"',
        'unknown key "saay" in step "set"',
    ]
    assert {problem.place.file for problem in raised.value.problems if problem.place} == {str(path)}


def test_a_shipped_procedure_is_loaded_by_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "set-a-shelf.yaml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "README.md").write_text("not a procedure", encoding="utf-8")
    monkeypatch.setattr(files, "folder", lambda: tmp_path)
    files.shipped.cache_clear()
    try:
        assert shipped() == {"set-a-shelf": tmp_path / "set-a-shelf.yaml"}
        assert load("set-a-shelf").name == "set-a-shelf"
        missing = told("set-a-shef")
        assert missing == [
            ("there is no file set-a-shef, nor a procedure of that name", 'Did you mean "set-a-shelf"?'),
        ]
        assert told("zzz")[0][1] == "The guide comes with: set-a-shelf."
        with pytest.raises(TypeError):
            shipped()["other"] = tmp_path  # type: ignore[index]
    finally:
        files.shipped.cache_clear()


def test_a_guide_without_procedures_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "__file__", "/nowhere/guide/procedure/files.py")
    files.shipped.cache_clear()
    try:
        assert shipped() == {}
        assert told("zzz")[0][1] == "The guide comes with: none."
    finally:
        files.shipped.cache_clear()


def test_the_procedures_of_a_checkout_lie_beside_the_package() -> None:
    assert all(path.parent.name == "procedures" and path.suffix == ".yaml" for path in shipped().values())


def test_a_folder_is_no_procedure(tmp_path: Path) -> None:
    assert told(tmp_path) == [(f"{tmp_path} is a folder", "Name a procedure file.")]
    assert told("")[0][0] == ". is a folder"


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    assert told(path) == [(f"{path} is not a file", "Name a procedure file.")]
    assert told("/dev/zero") == [("/dev/zero is not a file", "Name a procedure file.")]


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "shelf.yaml"
    path.write_text(GOOD, encoding="utf-8")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert told(path) == [(f"{path} can't be read: Permission denied", None)]


def test_names_no_system_can_hold() -> None:
    assert told("a\0b")[0][0] == "a\0b can't be read: embedded null byte"
    assert told("x" * 5000)[0][0].endswith("can't be read: File name too long")


def test_a_hundred_megabytes_are_not_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(100 * 1024 * 1024)
    assert told(path) == [(f"{path} is larger than 4 MB", "Is it a procedure file?")]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32"])
def test_another_encoding_is_named(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "shelf.yaml"
    path.write_text(GOOD, encoding=encoding)
    assert told(path) == [(f"{path} is UTF-16 or UTF-32, not UTF-8", "Save the file as UTF-8.")]


def test_bytes_that_are_not_utf_8_are_told_among_the_other_faults(tmp_path: Path) -> None:
    path = tmp_path / "shelf.yaml"
    path.write_bytes(GOOD.replace("Set it", "Set the café").replace("title", "tittle").encode("latin-1"))
    assert [message for message, _ in told(path)] == [
        'the file has no "title"',
        'unknown key "tittle" in the file',
        "byte 0xE9 is not UTF-8",
    ]
