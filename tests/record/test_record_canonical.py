import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicewalk.record.canonical import canonical, read_canonical


# RFC 8785 section 3.2.3 and appendix B, as carried by several test suites.
@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("333333333.33333329", "333333333.3333333"),
        ("1E30", "1e+30"),
        ("4.50", "4.5"),
        ("2e-3", "0.002"),
        ("0.000000000000000000000000001", "1e-27"),
        ("-0", "0"),
        ("-0.0", "0"),
    ],
)
def test_rfc8785_numbers(written, wanted):
    assert canonical(json.loads(written)).decode() == wanted


def test_rfc8785_keys_sort_by_utf16_code_units():
    wanted = ["\r", "1", "\u0080", "ö", "€", "😀", "\ufb33"]
    assert wanted != sorted(wanted)  # a sort by code points gets this wrong
    text = canonical(dict.fromkeys(reversed(wanted), "")).decode()
    assert list(json.loads(text)) == wanted


@pytest.mark.parametrize(
    "value",
    [2**53, -(2**53), float("nan"), float("inf"), "\ud800", {"\udfff": ""}, {1: ""}, b"", object()],
    ids=repr,
)
def test_what_has_no_canonical_form_is_refused(value):
    with pytest.raises(ValueError):
        canonical({"value": value})


@pytest.mark.parametrize(
    "fault",
    [
        b"",
        b"{",
        b'{"a":1}x',
        b'{"a": 1}',
        b'{"a":1, "b":2}',
        b'{"b":1,"a":2}',
        b'{"a":1,"a":1}',
        b'{"a":1.0}',
        b'{"a":1e0}',
        b'{"a":-0}',
        b'{"a":"\\u0041"}',
        b'{"a":"\\/"}',
        b'{"a":NaN}',
        b'{"a":Infinity}',
        b'{"a":9007199254740993}',
        b'{"a":' + b"1" * 5000 + b"}",
        b'\xef\xbb\xbf{"a":1}',
        b'{"a":"\xff"}',
        b'{"a":"\\ud800"}',
        b"[]",
        b'"text"',
        b"null",
        b'{"a":' + b"[" * 100_000 + b"]" * 100_000 + b"}",
    ],
    ids=lambda fault: repr(fault[:24]),
)
def test_bytes_that_canonical_would_not_write_are_refused(fault):
    with pytest.raises(ValueError):
        read_canonical(fault)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(st.text(), JSON, max_size=6))
def test_what_is_written_reads_back_the_same(body):
    data = canonical(body)
    assert read_canonical(data) == body
    assert canonical(read_canonical(data)) == data


@given(st.dictionaries(st.text(), JSON, max_size=6))
def test_the_order_of_keys_does_not_matter(body):
    assert canonical(dict(reversed(body.items()))) == canonical(body)
