"""Which job: what is offered, what is chosen by its number alone, and what can't be opened."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from talking import WORDING

from guide.problems import Problem, ProblemError
from guide.screen.desk import Drawn, Ended, Told
from guide.screen.page.lobby import FIRST_NUMBER, OFFERED, Lobby, Offer, Opened, offers


def opened(what: str) -> Opened:
    return Opened(None, [], Path(what))  # type: ignore[arg-type]


def kept(folder: Path, name: str) -> Path:
    (folder / name).mkdir(parents=True)
    (folder / name / "record.jsonl").write_text("")
    return folder / name


def test_jobs_in_the_folder_itself_and_procedures_are_offered(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs"
    elsewhere = kept(tmp_path, "elsewhere")
    front = kept(jobs, "front")
    kept(jobs, "deep/er")
    (jobs / "link").symlink_to(elsewhere)
    (jobs / "a file").write_text("")
    (jobs / "empty").mkdir()
    found = offers(jobs, {"picture-rail": "Hang a picture rail"}, opened, WORDING)
    assert [one.words for one in found] == ["Go on: front", "Start: Hang a picture rail"]
    assert [one.open().directory for one in found] == [front, Path("picture-rail")]
    assert [one.words for one in offers(tmp_path / "none", {}, opened, WORDING)] == []


def test_not_more_jobs_are_offered_than_can_be_read(tmp_path: Path) -> None:
    for number in range(OFFERED + 3):
        kept(tmp_path, f"job-{number}")
    assert len(offers(tmp_path, {}, opened, WORDING)) == OFFERED


def choose(*said: tuple[str, int]) -> tuple[Lobby, list[Told], list[Opened]]:
    told: list[Told] = []
    chosen: list[Opened] = []

    def broken() -> Opened:
        raise ProblemError([Problem("open-elsewhere", "It is open elsewhere.", hint="Leave it there.")])

    async def whole() -> Lobby:
        lobby = Lobby(WORDING, lambda: [Offer("one", lambda: opened("one")), Offer("broken", broken)], chosen.append)
        lobby.tell = told.append
        for words, request in said:
            lobby.say(words, "touch", request)
            while lobby._opening is not None and not lobby._opening.done():
                await asyncio.sleep(0.001)
        return lobby

    return asyncio.run(whole()), told, chosen


def test_a_job_is_chosen_by_its_number_once() -> None:
    lobby, told, chosen = choose(("1", FIRST_NUMBER + 1), ("1", FIRST_NUMBER + 1))
    assert [one.directory.name for one in chosen] == ["one"] and told == []
    assert [(key.text, key.words) for key in lobby.view.keypad.blocks[0]] == [("1", "one"), ("2", "broken")]


@pytest.mark.parametrize("words", ["0", "3", "../../etc", "one", "", "²", "9" * 5000])
def test_nothing_else_opens_anything(words: str) -> None:
    assert choose((words, 0))[1:] == ([], [])


def test_what_can_not_be_opened_is_told_and_another_can_be_chosen() -> None:
    lobby, told, chosen = choose(("2", 0), ("1", FIRST_NUMBER + 1), ("1", FIRST_NUMBER + 2))
    assert lobby.view.banner == "It is open elsewhere. Leave it there."
    assert [type(one) for one in told] == [Drawn] and [one.directory.name for one in chosen] == ["one"]


def test_it_is_left_without_a_job() -> None:
    assert choose(("stop", 0))[1] == [Ended(0)]
