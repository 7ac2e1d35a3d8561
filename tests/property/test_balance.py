"""Whatever is typed on a card or a trial run is read, or refused in one sentence."""

from math import isfinite

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.engine_makers import an_engine

from bedplate.errors import BedplateError
from bedplate.shop.balance.bob_weight import bob_weight_card
from bedplate.shop.balance.correction import two_plane_correction
from bedplate.shop.balance.residual import read_grade, read_unbalance
from bedplate.shop.balance.weights import weights_of
from bedplate.workshop.balancing import _line, _residuals

PIECES = st.sampled_from(
    ["front", "rear", "per plane", "in total",
     "2", "x", "120", "g·mm", "oz·in", "@", "40", "deg", "-1", "1e400", "nan", "g",
     "×", ".", "inf", " "]
)  # fmt: skip
TYPED = st.one_of(st.text(max_size=40), st.lists(PIECES, max_size=8).map(" ".join))


def refused_in_one_sentence(error: BedplateError) -> None:
    assert error.sentence.strip()
    assert "\n" not in error.sentence


@given(st.lists(TYPED, max_size=3))
def test_residuals_are_read_or_refused(texts):
    try:
        found = _residuals(texts)
    except BedplateError as error:
        refused_in_one_sentence(error)
    else:
        assert all(isfinite(one.amount.si) and one.amount.si >= 0 for one in found)


@given(TYPED)
def test_lines_and_grades_are_read_or_refused(text):
    for read in (_line, read_grade, read_unbalance):
        try:
            read(text)
        except BedplateError as error:
            refused_in_one_sentence(error)


@settings(max_examples=60, deadline=None)
@given(st.lists(TYPED, min_size=8, max_size=8), st.lists(TYPED, max_size=4), st.integers(0, 2))
def test_trial_runs_are_read_or_refused(texts, angles, fewer):
    a, b, c, d, e, f, g, h = texts
    try:
        two_plane_correction([a, b], [[c, d], [e, f][fewer:]], [g, h], angles, angles[1:])
    except BedplateError as error:
        refused_in_one_sentence(error)


GRAMS = st.integers(min_value=1, max_value=3000)


@settings(max_examples=30, deadline=None)
@given(st.lists(GRAMS, min_size=8, max_size=8), st.floats(0, 1))
def test_the_lines_add_up_whatever_the_weights(grams, factor):
    names = ("piston", "pin", "locks", "rings", "small_end", "big_end", "shells")
    rows = "\n".join(f'{n} = "{g} g"' for n, g in zip(names, grams, strict=False))
    tail = f'[weights]\n{rows}\n[balance]\noil = "{grams[7] / 1000} g"\nfactor = {factor!r}\n'
    engine = an_engine(layout="in-line 3", firing="1-3-2", tail=tail)
    card = bob_weight_card(engine, weights_of(engine))
    for throw in card.throws:
        assert abs(sum(line.total for line in throw.lines) - throw.bob_weight) < 1e-12
        by_hand = (grams[5] + grams[6] + grams[7] / 1000 + factor * sum(grams[:5])) / 1000
        assert abs(throw.bob_weight - by_hand) < 1e-12
