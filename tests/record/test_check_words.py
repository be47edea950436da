"""The words of a check value: every byte has its own at each place, and what is misread out loud shows."""

from __future__ import annotations

from guide.record.check_words import check_value, words


def test_every_byte_has_its_own_word_at_even_and_at_odd_places() -> None:
    even, odd = words(bytes(value for one in range(256) for value in (one, 0)))[::2], words(bytes(range(256)))[1::2]
    both = [words(bytes([value, value])) for value in range(256)]
    assert len({two for two, _ in both}) == len({three for _, three in both}) == 256
    assert not {two for two, _ in both} & {three for _, three in both}
    assert even == [two for two, _ in both] and odd == [three for _, three in both][1::2]


def test_a_check_value_has_eight_words_in_two_groups() -> None:
    said = check_value("00" * 32)
    assert said == ", ".join(["aardvark adroitness aardvark adroitness"] * 2)
    assert check_value("") == ""
    assert check_value("01" + "00" * 31) != said
