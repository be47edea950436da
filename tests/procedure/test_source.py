"""YAML and its traps: the exact words, line and column of each, read by libyaml and by the pure parser alike."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from faulty import HEAD, MARK, examined, marked

from guide.problems import Problem, Problems, render
from guide.procedure import source
from guide.procedure.nodes import ListNode, MapNode, Scalar, Source
from guide.procedure.source import DEEPEST, MOST_CHARACTERS, MOST_VALUES, compose, yaml_kind

LOADERS = [loader for loader in (getattr(yaml, "CSafeLoader", None), yaml.SafeLoader) if loader is not None]
STOPS = " YAML stops at its first error: nothing after it was checked."


@pytest.fixture(params=LOADERS, ids=lambda loader: str(loader.__name__))
def loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Each of the two parsers in turn."""
    monkeypatch.setattr(source, "_LOADER", request.param)
    return request.param


def tree(text: str) -> tuple[object, list[Problem]]:
    problems = Problems()
    return compose(Source("f.yaml", text), problems), problems.in_order()


def spots(problems: list[Problem]) -> list[tuple[int, int]]:
    return [(p.place.line, p.place.column) for p in problems if p.place is not None]


SYNTAX: dict[str, tuple[str, str, str]] = {
    "a colon in a text": ("a: b▸: c\n", 'a ":" inside a text', 'Put words with ": " in quotes.'),
    "a colon in braces": (
        "{why: Note▸: this}\n",
        '":" can\'t stand here inside { }',
        'Put words with { } [ ] , or ": " in quotes.',
    ),
    "a colon in braces over two lines": (
        "{a: b,\n why: Note▸: this}\n",
        '":" can\'t stand here inside { }',
        'Put words with { } [ ] , or ": " in quotes.',
    ),
    "a line without a colon": ("a: 1\n▸foo\nb: 2\n", 'this line has no ":"', 'Write "key: value".'),
    "indented too little": (
        "a:\n  b: 1\n ▸c: 2\n",
        "this line's indentation fits nothing above it",
        "Line it up with the keys it belongs to.",
    ),
    "indented too far": (
        "a: 1\n  b▸: 2\n",
        "this key is indented under a text that can't have keys",
        "Line it up with the keys it belongs to.",
    ),
    "a brace left open": ("a: ▸{b: 1\nc: 2\n", 'this "{" is never closed', 'Close it with "}".'),
    "a bracket left open": ("a: ▸[b, c\nd: 1\n", 'this "[" is never closed', 'Close it with "]".'),
    "a comment that eats a bracket": ("a: ▸[b #c]\n", 'this "[" is never closed', 'Close it with "]".'),
    "braces in words": (
        "{a: cut ▸{b c} x}\n",
        '"{" can\'t stand here inside { }',
        'Put words with { } [ ] , or ": " in quotes.',
    ),
    "a brace closed twice": ("a: 1\nb: ▸}\n", 'a value can\'t begin with "}"', "Put the whole text in quotes."),
    "a quote left open": ('a: ▸"foo\nb: 1\n', "this quote is never closed", "Close it, or leave it out."),
    "an apostrophe in single quotes": (
        "a: 'it'▸s'\n",
        "something follows the closing quote",
        "Put the whole text in quotes; inside ' ' write '' for an apostrophe.",
    ),
    "an at sign": ("a: ▸@foo\n", 'a text can\'t begin with "@"', "Put the whole text in quotes."),
    "a backtick": ("a: ▸`x`\n", 'a text can\'t begin with "`"', "Put the whole text in quotes."),
    "a star and a space": ("a: ▸* note\n", 'a text can\'t begin with "*"', "Put the whole text in quotes."),
    "an ampersand and a space": ("a: ▸& b\n", 'a text can\'t begin with "&"', "Put the whole text in quotes."),
    "a tag nobody knows": (
        "a: ▸!x!y z\n",
        'a text that begins with "!" is a tag, and tags are not understood here',
        "Put the whole text in quotes.",
    ),
    "a dash in the middle of a line": (
        "a: ▸- b\n",
        'a list with "-" can\'t begin in the middle of a line',
        "Begin it on a line of its own.",
    ),
    "a line without its dash": ("a:\n  - b\n  ▸c: 1\n", 'this line of a list has no "-"', 'Begin it with "- ".'),
    "text after the end": (
        "a: 1\n...\n▸foo: 2\n",
        "this stands outside the document",
        'Remove the line "..." or "%" before it.',
    ),
    "a version of YAML nobody knows": (
        "▸%YAML 3.0\n---\na: 1\n",
        'a line that begins with "%" is not understood here',
        "Remove it.",
    ),
    "a comma first": ("a: ▸, b\n", 'a value can\'t begin with ","', "Put the whole text in quotes."),
    "words after a bar": (
        "a: | ▸x\n  y\n",
        'nothing may follow "|" or ">" on its line',
        "Begin the text on the next line.",
    ),
    "a quote that runs into a document": (
        'a: ▸"x\n---\nb"\n',
        "this quote is never closed",
        "Close it, or leave it out.",
    ),
}


@pytest.mark.usefixtures("loader")
@pytest.mark.parametrize("name", SYNTAX)
def test_syntax_error(name: str) -> None:
    text, message, hint = SYNTAX[name]
    clean, places = marked(text)
    root, problems = tree(clean)
    assert root is None
    assert [(p.message, p.hint) for p in problems] == [(message, hint + STOPS)]
    assert spots(problems) == places


def test_an_unknown_escape() -> None:
    _, problems = tree('a: "\\q"\n')
    assert [p.message for p in problems] == ['an unknown escape after "\\"']
    assert problems[0].hint is not None
    assert problems[0].hint.startswith(r"Write \\ for a backslash")


TRAPS: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "an anchor and its alias": (
        "about: ▸&a Words.\nsteps: {a: {say: ▸*a}}\n",
        [
            (
                '"&a" is an anchor, and anchors are not understood here',
                'Write the values out where they are needed; put words that begin with "&" in quotes.',
            ),
            (
                '"*a" is an alias, and aliases are not understood here',
                'Write the values out; put words that begin with "*" in quotes.',
            ),
        ],
    ),
    "a tag": (
        "steps: {a: {say: ▸!!str Do it.}}\n",
        [('"!!str" is a tag, and tags are not understood here', 'Remove it; put words that begin with "!" in quotes.')],
    ),
    "a tag that makes an object": (
        "steps: {a: {say: Do it., hold: ▸!!python/object/apply:os.system {by: lead, look: at it}}}\n",
        [
            (
                '"!!python/object/apply:os.system" is a tag, and tags are not understood here',
                'Remove it; put words that begin with "!" in quotes.',
            )
        ],
    ),
    "a merge key": (
        "steps:\n  a: {say: Do it.}\n  b: {▸<<: {why: Because.}, say: Do that.}\n",
        [
            (
                '"<<" is a merge key, and merge keys are not understood here',
                "Write the values out where they are needed.",
            )
        ],
    ),
    "a key that is a list": (
        "steps: {a: {say: Do it.}}\n? ▸[about]\n: Words.\n",
        [("a key must be a word", "Put words with braces or brackets in quotes.")],
    ),
    "a second document": (
        "steps: {a: {say: Do it.}}\n▸---\nformat: 1\n",
        [("a second document begins here", 'Remove the "---": one job, one file. Nothing after it was checked.')],
    ),
    "an escape for a control character": (
        'steps: {a: {say: ▸"Ring the bell\\a."}}\n',
        [("an escape in this text stands for a character that can't be shown", "Delete it.")],
    ),
}


@pytest.mark.usefixtures("loader")
@pytest.mark.parametrize("name", TRAPS)
def test_trap_inside_a_good_file(name: str) -> None:
    text, expected = TRAPS[name]
    clean, places = marked(HEAD + text)
    procedure, faults, _ = examined(clean)
    assert procedure is None
    assert [(fault.message, fault.hint) for fault in faults] == expected
    assert spots(faults) == places


@pytest.mark.usefixtures("loader")
def test_aliases_are_never_expanded() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 30)]
    _, problems = tree("\n".join(lines))
    assert {p.code for p in problems} == {"anchor", "alias"}
    assert len(problems) == 30 + 29 * 10


@pytest.mark.usefixtures("loader")
def test_every_value_keeps_its_place_and_its_text() -> None:
    root, problems = tree("a: [b, 'c d']\n\"e\":\n  f: 010\n")
    assert not problems
    assert isinstance(root, MapNode)
    (a, items), (e, inner) = root.pairs
    assert isinstance(items, ListNode)
    assert isinstance(inner, MapNode)
    scalars = [a, *items.items, e, *inner.pairs[0]]
    assert [(s.text, s.plain, s.line, s.column) for s in scalars if isinstance(s, Scalar)] == [
        ("a", True, 0, 0),
        ("b", True, 0, 4),
        ("c d", False, 0, 7),
        ("e", False, 1, 0),
        ("f", True, 2, 2),
        ("010", True, 2, 5),
    ]


@pytest.mark.usefixtures("loader")
def test_figures_in_words_need_no_quotes_inside_braces() -> None:
    root, problems = tree("{say: Cut it to {top_length}., why: {a.b} first}")
    assert not problems
    assert isinstance(root, MapNode)
    assert [value.text for _, value in root.pairs if isinstance(value, Scalar)] == [
        "Cut it to {top_length}.",
        "{a.b} first",
    ]


def test_tabs_that_indent_are_each_told_and_the_one_that_stops_yaml_says_so(loader: Any) -> None:
    _, problems = tree("a:\n  b: 1\n\tc: 2\n\td: 3\n")
    message = "a tab in the indentation, where YAML takes only spaces"
    assert [(p.message, p.hint) for p in problems] == [(message, "Use spaces." + STOPS), (message, "Use spaces.")]
    assert spots(problems) == [(3, 1), (4, 1)]


def test_very_many_tabs_are_not_told_one_by_one() -> None:
    _, problems = tree("a:\n" + "\tb: 1\n" * 100)
    assert len(problems) == 21
    assert problems[-1].message == "further lines of f.yaml are indented so"


def test_a_tab_between_words_is_a_space() -> None:
    root, problems = tree("a: b\tc\n")
    assert not problems
    assert isinstance(root, MapNode)


def test_non_breaking_spaces_that_indent_are_told_and_read_as_spaces(loader: Any) -> None:
    root, problems = tree("a:\n\u00a0\u00a0b: 1\n")
    assert [p.message for p in problems] == ["a non-breaking space in the indentation, where YAML takes only spaces"]
    assert isinstance(root, MapNode)


CHARACTERS = {
    "a NUL": ("a: b▸\0c\n", "a NUL character (U+0000)", "Delete it."),
    "a bell": ("a: b▸\ac\n", "the character U+0007, which can't be seen or has no meaning", "Delete it."),
    "a zero-width space": (
        "a: b▸\u200bc\n",
        "the character U+200B, which can't be seen or has no meaning",
        "Delete it.",
    ),
    "text turned round": (
        "a: b▸\u202ec\n",
        "the character U+202E, which can't be seen or has no meaning",
        "Delete it.",
    ),
    "a line separator": ("a: b▸\u2028c\n", "the character U+2028, which can't be seen or has no meaning", "Delete it."),
    "private use": ("a: b▸\ue000c\n", "the character U+E000, which can't be seen or has no meaning", "Delete it."),
    "a byte order mark": (
        "▸\ufeffa: b\n",
        "a byte order mark (U+FEFF)",
        "Save the file as UTF-8 without a byte order mark.",
    ),
    "a byte of Latin-1": (
        "a: caf▸" + b"\xe9".decode("utf-8", "surrogateescape") + "\n",
        "byte 0xE9 is not UTF-8",
        "Save the file as UTF-8.",
    ),
    "half a character": ("a: b▸\ud83dc\n", "the character U+D83D, which can't be seen or has no meaning", "Delete it."),
}


@pytest.mark.usefixtures("loader")
@pytest.mark.parametrize("name", CHARACTERS)
def test_unfit_character(name: str) -> None:
    text, message, hint = CHARACTERS[name]
    clean, places = marked(text)
    root, problems = tree(clean)
    assert [(p.message, p.hint) for p in problems] == [(message, hint)]
    assert spots(problems) == places
    assert isinstance(root, MapNode), "the rest of the file is read all the same"
    render(problems[0]).encode("ascii")


def test_a_file_of_no_text_at_all_is_given_up() -> None:
    root, problems = tree("\0\1\2\3" * 100)
    assert root is None
    assert len(problems) == 21
    assert problems[-1].message == "380 more characters of f.yaml are no text"


@pytest.mark.usefixtures("loader")
def test_a_file_with_nothing_in_it() -> None:
    for text in ("", "\n\n", "# only a comment\n", "---\n"):
        root, problems = tree(text)
        assert root is None or isinstance(root, Scalar)
        assert text == "---\n" or [p.message for p in problems] == ["f.yaml is empty"]


@pytest.mark.usefixtures("loader")
def test_nesting_is_given_up_before_it_hurts() -> None:
    for text in ("[" * 100_000, "{a: " * 100_000, "[" * (DEEPEST + 1)):
        root, problems = tree(text)
        assert root is None
        assert [p.message for p in problems] == ["this is nested far too deep"]


def test_too_many_values_are_given_up() -> None:
    root, problems = tree("a: [" + "x," * MOST_VALUES + "]")
    assert root is None
    assert [p.message for p in problems] == [f"there are more than {MOST_VALUES:,} values"]


def test_too_long_a_text_is_not_read() -> None:
    root, problems = tree("#" * (MOST_CHARACTERS + 1))
    assert root is None
    assert [p.message for p in problems] == [f"f.yaml has more than {MOST_CHARACTERS:,} characters"]


def test_lines_end_in_any_of_three_ways() -> None:
    for ending in ("\n", "\r\n", "\r"):
        _, faults = tree(ending.join(["a: 1", "b: *x", ""]))
        assert spots(faults) == [(2, 4)]
        assert faults[0].place is not None
        assert faults[0].place.text == "b: *x"


def test_what_yaml_makes_of_plain_text() -> None:
    def kind(text: str, plain: bool = True) -> str | None:
        return yaml_kind(Scalar(text, plain, 0, 0, 0, len(text)))

    kinds = {word: kind(word) for word in ("no", "Yes", "on", "off", "~", "010", "12:30", "1.5", "2026-05-04", "<<")}
    assert list(kinds.values()) == [
        *("bool", "bool", "bool", "bool", "null", "int", "int", "float", "timestamp", "merge"),
    ]
    assert kind("no", plain=False) is None
    assert kind("1/8 in") is None
    assert kind("note") is None


def test_a_fault_is_shown_with_its_line_and_a_caret() -> None:
    clean, _ = marked(HEAD + f"steps:\n  set:\n    say: Set it.\n    {MARK}tolerence: 3 mm\n")
    _, faults, _ = examined(clean)
    assert render(faults[0]).split("\n") == [
        'bench.yaml:6:5: unknown key "tolerence" in step "set"',
        "     6 |     tolerence: 3 mm",
        "       |     ^^^^^^^^^",
        '  Did you mean "within"?',
    ]
