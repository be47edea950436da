"""The commands that look something up, outside a job: faults of a file, procedures and their steps, arithmetic."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from guide.problems import Problem, ProblemError, render, visible

DONE, FAULTS = 0, 1


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands to the command line."""
    check = commands.add_parser("check", help="find every fault in procedure files")
    check.add_argument("files", metavar="FILE", nargs="+")
    check.add_argument("--json", action="store_true", help="one JSON object")
    check.set_defaults(command=_check)

    procedures = commands.add_parser("procedures", help="the procedures that come with the guide")
    procedures.set_defaults(command=_procedures)

    explain = commands.add_parser("explain", help="the steps of a procedure, in words or drawn")
    explain.add_argument("procedure", metavar="PROCEDURE")
    explain.add_argument("step", metavar="STEP", nargs="?")
    explain.add_argument("--svg", metavar="FILE", type=Path, help="write a drawing of the order")
    explain.set_defaults(command=_explain)

    work = commands.add_parser("work", help="the trade's arithmetic on its own, each with an example")
    work.add_argument("name", metavar="NAME", nargs="?", help="which computation (none: the list)")
    work.add_argument(
        "file", metavar="FILE", nargs="?", help="its input, YAML or JSON (-: standard input; none: the example)"
    )
    work.add_argument("--json", action="store_true", help="one JSON object")
    work.set_defaults(command=_work)


def _check(arguments: argparse.Namespace) -> int:
    from guide.procedure import examine

    found: list[Problem] = []
    remarks: list[Problem] = []
    for name in arguments.files:
        _, faults, more = examine(name)
        found += faults
        remarks += more
    if arguments.json:
        data = {"faults": [p.as_data() for p in found], "remarks": [p.as_data() for p in remarks]}
        print(json.dumps(data, indent=1))
        return FAULTS if found else DONE
    for problem in found:
        print(render(problem))
    for remark in remarks:
        print("remark: " + render(remark))
    if found:
        print(f"{len(found)} {'problem' if len(found) == 1 else 'problems'}.")
    else:
        print(f"{len(arguments.files)} {'file' if len(arguments.files) == 1 else 'files'}, no problem.")
    return FAULTS if found else DONE


def _procedures(arguments: argparse.Namespace) -> int:
    from guide.procedure import load, shipped

    for name in shipped():
        procedure = load(name)
        print(f"{name}: {procedure.title} ({len(procedure.steps)} steps)")
        if procedure.about:
            print(f"  {procedure.about}")
    return DONE


def _explain(arguments: argparse.Namespace) -> int:
    import shutil

    from guide.procedure import load
    from guide.screen.explain import drawing, step_text, text

    procedure = load(arguments.procedure)
    width = max(24, min(100, shutil.get_terminal_size((78, 24)).columns))
    if arguments.step:
        print(step_text(procedure, arguments.step, width))
    elif not arguments.svg:
        print(text(procedure, width))
    if arguments.svg:
        try:
            arguments.svg.write_text(drawing(procedure), encoding="utf-8")
        except OSError as fault:
            raise ProblemError([Problem("svg-unwritable", f"{arguments.svg}: {fault.strerror}")]) from None
        print(f"The drawing is in {arguments.svg}")
    return DONE


def _work(arguments: argparse.Namespace) -> int:
    from guide.procedure.plain import read_plain
    from guide.trade.work import answer, works

    known = {work.name: work for work in works()}
    if arguments.name is None:
        if arguments.json:
            listed = [
                {"name": w.name, "summary": w.summary, "example": read_plain(w.name, w.example)[0]}
                for w in known.values()
            ]
            print(json.dumps(listed, indent=1))
        else:
            for work in known.values():
                print(f"{work.name}: {work.summary}")
                print("".join(f"    {line}\n" for line in work.example.strip().splitlines()))
        return DONE
    found = known.get(arguments.name)
    text = found.example if found is not None and arguments.file is None else _input(arguments.file)
    data, place_of = read_plain(arguments.file or "example", text)
    result = answer(arguments.name, data, place_of)
    if arguments.json:
        print(json.dumps(result, indent=1))
    else:
        print(_answer_lines(result))
    return DONE


def _input(file: str | None) -> str:
    if file is None:
        return "{}"
    try:
        return sys.stdin.read() if file == "-" else Path(file).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise ProblemError([Problem("input-unreadable", f"{file} can't be read: {fault}")]) from None


def _answer_lines(result: dict[str, object]) -> str:
    """An answer as lines: its figures, how sure they are, the working, the sources."""
    told = [
        f"{key}: {value}" for key, value in result.items() if key not in ("work", "uncertainty", "working", "source")
    ]
    told.append(f"uncertainty: {result['uncertainty']}")
    for key in ("working", "source"):
        lines = result[key]
        told += [f"{key}: {line}" for line in lines] if isinstance(lines, list) else []
    return "\n".join(visible(line) for line in told)
