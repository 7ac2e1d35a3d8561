import pytest

from bedplate.errors import InputError
from bedplate.physics.thread import metric_thread, thread

SAME = [
    ("M10", "M10 x 1.5"),
    ("m10x1.5", "M10 x 1.5"),
    ("M10×1.25", "M10 x 1.25"),
    ("M10-1.25", "M10 x 1.25"),
    (" M 10 x 1,25 ", "M10 x 1.25"),
    ("M8x.75", "M8 x 0.75"),
    ("3/8-24", "3/8-24 UNF"),
    ("3/8 - 16 unc", "3/8-16 UNC"),
    ('7/16"-20', "7/16-20 UNF"),
    ("0.375-24", "3/8-24 UNF"),
    (".4375-14", "7/16-14 UNC"),
    ("#10-32", "#10-32 UNF"),
    ("10-32", "#10-32 UNF"),
    ("No. 8-32", "#8-32 UNC"),
    ("1-12", "1-12 UNF"),
    ("1 1/8-12", "1 1/8-12 UNF"),
    ("1-1/8-7", "1 1/8-7 UNC"),
]


@pytest.mark.parametrize(("typed", "name"), SAME)
def test_designations(typed, name):
    assert thread(typed).name == name


REFUSED = [
    ("", "no thread"),
    ("10 mm", "no thread"),
    ("M10 x 1.5 x 40", "no thread"),
    ("M10 x 1.4", "1.5 or 1.25 or 1 or 0.75 mm, not 1.4 mm"),
    ("M13", "no metric thread of 13 mm"),
    ("M15", "no coarse pitch"),
    ("3/8-20", "16 UNC, 24 UNF, 32 UNEF"),
    ("3/8-24 UNC", "16 UNC, 24 UNF, 32 UNEF"),
    ("#7-32", "no size #7"),
    ("1/0-20", "no size 1/0"),
    ("1/3-20", "no size 1/3"),
]


@pytest.mark.parametrize(("typed", "said"), REFUSED)
def test_what_is_no_thread_is_refused_in_one_sentence(typed, said):
    with pytest.raises(InputError) as caught:
        thread(typed)
    assert said in caught.value.sentence
    assert caught.value.sentence.endswith(".")


@pytest.mark.parametrize(("diameter", "pitch"), [(0, 0.001), (0.01, 0), (0.01, 0.006)])
def test_sizes_that_make_no_thread(diameter, pitch):
    with pytest.raises(InputError):
        metric_thread(diameter, pitch)
