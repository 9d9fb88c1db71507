"""Reading commands out of documents, and comparing what they print."""

import pytest
from shown import Shown, as_shown, shown_in

TEXT = """# Title

```console
$ tool one
first
second
$ tool two
```

```
$ not a console block
```

```console
$ tool three
third
```
"""


def test_commands_are_found_with_output_and_line():
    assert shown_in(TEXT) == [
        Shown(4, "tool one", "first\nsecond\n"),
        Shown(7, "tool two", ""),
        Shown(15, "tool three", "third\n"),
    ]


@pytest.mark.parametrize(
    ("expected", "actual"),
    [
        ("", ""),
        ("one\ntwo\n", "one  \ntwo\n\n"),
        ("...\n", ""),
        ("one\n...\nfour\n", "one\ntwo\nthree\nfour\n"),
        ("one\n...\nfour\n", "one\nfour\n"),
        ("took ... s\n", "took 1.5 s\n"),
        ("a (b) [c] *\n", "a (b) [c] *\n"),
    ],
)
def test_output_is_as_shown(expected, actual):
    assert as_shown(expected, actual)


@pytest.mark.parametrize(
    ("expected", "actual"),
    [
        ("", "one\n"),
        ("one\n", ""),
        ("one\n", "one\ntwo\n"),
        ("one\n...\nfour\n", "one\ntwo\n"),
        ("took ... s\n", "took 1.5\ns\n"),
        ("a.c\n", "abc\n"),
        ("  indented\n", "indented\n"),
    ],
)
def test_other_output_is_not(expected, actual):
    assert not as_shown(expected, actual)
