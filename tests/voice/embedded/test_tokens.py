"""The model's table of pieces: read, and text through it and back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.talk.phrases import Phrases
from guide.voice.embedded.model import find_weights
from guide.voice.embedded.tokens import Pieces, TableError

PIECES = Pieces.load(find_weights() / "tokenizer.bin")


def test_the_table_has_special_pieces_bytes_and_merges() -> None:
    assert len(PIECES) == 32_768
    assert PIECES.pieces[:3] == (b"<unk>", b"<s>", b"</s>")
    assert PIECES.pieces[3:259] == tuple(bytes([byte]) for byte in range(256))


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("36 and 3/16 inches.", ["▁", "3", "6", "▁and", "▁", "3", "/", "1", "6", "▁inches", "."]),
        ("Thirty-six, three-sixteenths", ["▁Th", "irty", "-", "six", ",", "▁three", "-", "six", "teenth", "s"]),
        ("What's the tolerance?", ["▁What", "'", "s", "▁the", "▁toler", "ance", "?"]),
    ],
)
def test_text_is_cut_as_the_model_writes_it(text: str, pieces: list[str]) -> None:
    assert [PIECES.pieces[one].decode() for one in PIECES.encode(text)] == pieces


def test_every_phrase_comes_back() -> None:
    for text, _ in Phrases.load("en").examples():
        assert PIECES.decode(PIECES.encode(text)) == " ".join(text.split())


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Z", "Cc"], exclude_characters="▁"), max_size=40))
def test_any_text_comes_back(text: str) -> None:
    assert PIECES.decode(PIECES.encode(text)) == text


@pytest.mark.parametrize("table", [b"", b"\x05abc", b"\x81", b"\x01a" * 300 + b"\x90\x01ab"])
def test_a_broken_table_is_named(table: bytes) -> None:
    with pytest.raises(TableError, match="table of pieces"):
        Pieces(table)


def test_a_piece_of_128_bytes_or_more_has_a_length_of_two_bytes() -> None:
    long = b"x" * (3 * 128 + 5)
    table = b"\x01a" * 300 + bytes([128 + 5, 3]) + long
    assert Pieces(table).pieces[-1] == long
