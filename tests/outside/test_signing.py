"""Signing and check values against what others publish."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from guide.record.check_words import check_value, words

RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.outside("RFC 8032, 7.1: tests 1 to 3", "published")
@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_ed25519(secret: str, public: str, message: str, signature: str) -> None:
    """Keys and signatures of Ed25519"""
    private = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))
    assert private.public_key().public_bytes_raw().hex() == public
    assert private.sign(bytes.fromhex(message)).hex() == signature
    Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)).verify(bytes.fromhex(signature), bytes.fromhex(message))


FINGERPRINT = "E58294F2E9A227486E8B061B31CC528FD7FA3F19"
SAID = (
    "topmost Istanbul Pluto vagabond treadmill Pacific brackish dictator goldfish Medusa afflict bravado "
    "chatter revolver Dupont midsummer stopwatch whimsical cowbell bottomless"
)


@pytest.mark.outside("the PGP word list's published example, and another: DC 0D 33", "published")
def test_check_words() -> None:
    """Bytes as words of two and of three syllables in turn"""
    assert words(bytes.fromhex(FINGERPRINT)) == SAID.split()
    assert words(bytes.fromhex("DC0D33")) == ["sweatband", "asteroid", "chisel"]
    assert check_value(FINGERPRINT + "00" * 12) == (
        "topmost Istanbul Pluto vagabond, treadmill Pacific brackish dictator"
    )
