"""What an engine file says of shop, shells, rings and matching: read, or refused by name."""

from __future__ import annotations

import pytest

from bedplate.engine import examples, read_engine
from bedplate.engine.orders import ShellRule, WorkStation
from bedplate.errors import EngineFileError

SIX = examples()["straight-six"]


def fault(old: str, new: str) -> str:
    """Return what is said when a part of the shipped file is replaced."""
    assert SIX.count(old) >= 1, old
    with pytest.raises(EngineFileError) as caught:
        read_engine(SIX.replace(old, new, 1), "six.toml")
    return " | ".join(str(one) for one in caught.value.faults)


def test_the_shipped_file_is_read() -> None:
    machining = read_engine(SIX).machining
    assert machining.order is not None
    assert machining.order.sent[0] == ("block", 1)
    assert machining.order.uncertainty == pytest.approx(4e-6)
    boring = machining.work[0]
    assert boring.station is WorkStation.BORING
    assert boring.holds is not None
    assert boring.holds.value == pytest.approx(5e-6)
    assert boring.tolerance is not None
    assert (boring.tolerance.low, boring.tolerance.high) == (-2e-6, 8e-6)
    assert dict(boring.states)["torque plate"].startswith("steel")
    assert [surface.name for surface in boring.surfaces] == ["Ra", "Rpk", "Rk", "Rvk"]
    mains, rods = machining.shells
    assert mains.rule is ShellRule.SUM
    assert mains.loaded == "lower"
    assert rods.loaded == "upper"
    assert rods.rule is None
    assert next(rule.gap for rule in machining.rings) == "top ring gap"
    assert machining.matching is not None
    assert machining.matching.weight == pytest.approx(1e-3)


def test_a_file_without_these_tables_says_nothing_of_them() -> None:
    machining = read_engine(examples()["flat-four"]).machining
    assert machining.work == ()
    assert machining.order is None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"+0.008/-0.002 mm"', '"tight"', "is no tolerance"),
        ('holds      = "0.005 mm"', 'holds      = "0 mm"', "is no step"),
        ('"40..50 deg included about the horizontal"', '"40..50 deg"', "from where the angle"),
        ('"40..50 deg included about the horizontal"', '"40..50 mm about the axis"', "mm"),
        ('"40..50 deg included about the horizontal"', '"95..99 deg from the horizontal"',
         "no angle between"),
        ('station    = "boring and honing"', 'station    = "painting"', "station of work"),
        ('station   = "balance"', 'station   = "deck"', "has a table already"),
        ('{ "balance flywheel" = "the flywheel is not chosen yet" }', '{ "paint" = "no" }',
         "not asked for"),
        ('by_sum        = ["1", "1",', 'by_sum        = ["1",', "7 grades for 8 possible sums"),
        ('by_sum        = ["1", "1",', 'by_sum        = ["1", "9",', "no shell grade '9'"),
        ('forbidden     = [["1", "4"]]', 'forbidden     = [["1", "8"]]', "no shell grade '8'"),
        ('"1.981..1.985 mm"', '"1.981 in"', "no wall of a half shell"),
        ("factor      = 0.0055", 'factor      = 0.0055\ngap = "0.4 mm"', "one rule"),
        ('gap    = "0.40 mm"', "", "one rule"),
        ('weight = "1.0 g"', 'weight = "0 g"', "no tolerance"),
        ('time   = "3 s"', 'time   = "900 s"', "no time to search"),
        ('shop        = "the machine shop (invented)"', "shop = 3", "text in quotes"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_where_it_stands(old: str, new: str, said: str) -> None:
    assert said in fault(old, new)


def test_charts_of_the_other_families_are_checked() -> None:
    v8, four = examples()["v8"], examples()["in-line-four-frame"]
    for text, old, new, said in (
        (v8, '["blue", "plain", "plain/red"]', '["blue", "plain"]', "has 2 of 3 grades"),
        (v8, '["blue", "plain", "plain/red"]', '["blue", "plain", "plain/pink"]', "'pink'"),
        (four, 'X = "brown", ', "", "none for code X"),
        (four, "only          = [1, 2, 3, 5]", "only = [1, 9]", "no main 9"),
    ):
        with pytest.raises(EngineFileError) as caught:
            read_engine(text.replace(old, new, 1))
        assert any(said in str(one) for one in caught.value.faults), (said, caught.value.faults)
