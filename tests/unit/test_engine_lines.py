"""The line of each key, found beside what the TOML reader keeps."""

import pytest

from bedplate.engine.lines import dotted, find_lines, line_of

TEXT = '''# a comment with a = 1 in it
top = "x # no comment [no.table]"

[one]
a = 1          # a comment
"b c" = """
[not]
k = 1
"""
d.e = { f = 1, g = "}" }
list = [
  "[[many]]",  # ]
  [1, 2],
]
h = \'\'\'it's
k = 2
\'\'\'

[[many]]
name = 'a'
[[many]]
name = 'b'
[many.inner]
deep = true
[[many.more]]
last = 1
'''


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("top",), 2),
        (("one",), 4),
        (("one", "a"), 5),
        (("one", "b c"), 6),
        (("one", "d", "e"), 10),
        (("one", "d", "e", "f"), 10),
        (("one", "list", 1), 11),
        (("one", "h"), 15),
        (("many",), 19),
        (("many", 0, "name"), 20),
        (("many", 1), 21),
        (("many", 1, "name"), 22),
        (("many", 1, "inner", "deep"), 24),
        (("many", 1, "more", 0, "last"), 26),
        (("nowhere",), 0),
    ],
)
def test_each_key_has_its_line(ending, path, line):
    assert line_of(find_lines(TEXT.replace("\n", ending)), path) == line


def test_what_is_inside_strings_is_no_key():
    found = find_lines(TEXT)
    assert ("one", "k") not in found
    assert ("not",) not in found


def test_places_are_counted_as_people_count():
    assert dotted(("fit", 1, "limits")) == "fit[2].limits"
    assert dotted(("fit", 0, "limits", "within 30 deg")) == "fit[1].limits.'within 30 deg'"
    assert dotted(()) == ""
