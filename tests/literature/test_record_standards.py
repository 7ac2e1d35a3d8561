"""The stored form against the standards it names."""

from __future__ import annotations

import base64
import json
import struct

import pytest

from bedplate.errors import EntryError
from bedplate.record.canonical import canonical, digest

# RFC 8785 (June 2020), Appendix B: IEEE 754 bits of a double and the JSON number it is written as.
RFC_8785_NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "text"), RFC_8785_NUMBERS)
def test_numbers_are_written_as_rfc_8785_appendix_b_says(bits: str, text: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical(number) == text.encode()


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_nan_and_infinity_are_refused_as_rfc_8785_appendix_b_says(bits: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    with pytest.raises(EntryError):
        canonical(number)


def test_an_object_is_written_as_rfc_8785_section_3_2_2_says() -> None:
    # Section 3.2.2, the sample input, and section 3.2.4, the UTF-8 bytes of its canonical form.
    given = r"""{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"""
    wanted = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical(json.loads(given)) == wanted.encode()


def test_keys_are_sorted_as_rfc_8785_section_3_2_3_says() -> None:
    # By UTF-16 code units: the emoji's first half, D83D, comes before FB33.
    keys = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]
    wanted = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]
    assert list(json.loads(canonical(dict.fromkeys(keys, 0)))) == wanted


@pytest.mark.parametrize(
    ("message", "hashed"),
    [
        # FIPS 180-4's published examples for SHA-256: one block, two blocks; and the empty message.
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ],
)
def test_the_hash_is_the_sha_256_of_fips_180_4(message: bytes, hashed: str) -> None:
    assert digest(message) == hashed


def test_pictures_travel_in_the_base64_of_rfc_4648_section_10() -> None:
    for plain, coded in [(b"fo", b"Zm8="), (b"foo", b"Zm9v"), (b"foobar", b"Zm9vYmFy")]:
        assert base64.b64encode(plain) == coded
