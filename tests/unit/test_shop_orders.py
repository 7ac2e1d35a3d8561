"""The machine-shop order, its return sheet and the check-in, on an invented straight six."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from bedplate import demo
from bedplate.engine import examples
from bedplate.errors import (
    EntryError,
    ImportFileError,
    NotFoundError,
    NotPossibleError,
    QuantityError,
)
from bedplate.metrology import Verdict
from bedplate.quantity import Dimension, parse
from bedplate.shop.checkin.desk import orders_of
from bedplate.shop.checkin.model import Agreement, OrderState, RowState
from bedplate.shop.model import QuestionKind
from bedplate.shop.order_sizes import rounded
from bedplate.shop.ordering import basis_hash, draft
from bedplate.shop.returns import COLUMNS
from bedplate.shop.undersizes import twin, undersize_words
from bedplate.workshop import Workshop

WHO = "a tester"
SIX = "six"
PLATE = "torque plate fitted, main caps tightened"


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    workshop = Workshop.open(tmp_path)
    demo.fill(
        workshop,
        examples()["straight-six"],
        SIX,
        seed=6,
        wanted=lambda f: f.kind in {"piston", "main journal"},
    )
    return workshop


def order(workshop: Workshop) -> OrderState:
    return orders_of(workshop.state(SIX))[0]


def row(workshop: Workshop, name: str) -> RowState:
    return next(r for r in order(workshop).rows if r.row.row == name)


def measure(workshop: Workshop, feature: str, size: float) -> None:
    """Measure a feature at all its stations with a gauge that shows sizes."""
    if "three-point" not in workshop.state(SIX).gauges:
        workshop.register_gauge(
            SIX, "three-point", by=WHO, gauge_kind="three-point bore gauge", comparator=False,
            resolution="0.001 mm", expanded_uncertainty="0.002 mm", repeatability="0.0005 mm",
        )  # fmt: skip
    held = workshop.state(SIX).features[feature].feature
    for station in held.stations:
        workshop.read(
            SIX, feature, station.id, f"{size * 1e3:.3f} mm", "three-point", by=WHO,
            condition=held.condition,
        )  # fmt: skip


def sheet(workshop: Workshop, **values: dict[str, str]) -> bytes:
    """Return the order's return sheet with every bore on size, but for what is given."""
    rows = list(csv.DictReader(io.StringIO(workshop.return_sheet(SIX).decode())))
    for line in rows:
        name = line["row"]
        aim = next(r.row.aim for r in order(workshop).rows if r.row.row == name)
        if name.startswith("cylinder-bore-") and name[-1].isdigit() and aim is not None:
            line.update(value=f"{aim * 1e3:.3f} mm", condition=PLATE, gauge="shop bore gauge 2")
        line.update(values.get(name.replace("-", "_"), {}))
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


# ---- the order


def test_a_finish_size_is_that_of_the_very_piston_plus_the_target(workshop: Workshop) -> None:
    state = workshop.state(SIX)
    rows = {r.row: r for r in draft(state).rows}
    for number in "123456":
        size = state.features[f"piston-{number}"].size
        assert size is not None
        piston = float(size.mean.nominal_value)
        ordered = rows[f"cylinder-bore-{number}"]
        assert ordered.aim == pytest.approx(piston + 0.085e-3, abs=0.0025e-3 + 1e-9)
        assert ordered.aim == pytest.approx(round(ordered.aim / 5e-6) * 5e-6, abs=1e-12)
        # Never beyond the limits of the clearance, whatever the shop's tolerance.
        assert piston + 0.075e-3 - 1e-9 <= ordered.low <= ordered.aim
        assert ordered.aim <= ordered.high <= piston + 0.100e-3 + 1e-9
        assert f"piston {number} " in ordered.basis
        assert "12 mm above the skirt's end" in ordered.basis


def test_a_warm_piston_is_ordered_for_at_20_degrees(workshop: Workshop) -> None:
    """A 100 mm piston of 2618 alloy that is 8 °C warm measures 18 µm more."""
    before = next(r for r in draft(workshop.state(SIX)).rows if r.row == "cylinder-bore-2")
    reading = workshop.state(SIX).features["piston-2"].readings[0]
    workshop.withdraw(SIX, reading.id, "measured again, warm", by=WHO)
    warm = (reading.size or 0.0) + 0.0844 * 22.3e-6 * 8
    said = {"part_temperature": "28 °C", "gauge_temperature": "20 °C"}
    typed = f"{warm * 1e3:.4f} mm"
    taken = workshop.read(SIX, "piston-2", "gauge-point", typed, reading.gauge, by=WHO, **said)
    waiting = next(r for r in draft(workshop.state(SIX)).rows if r.row == "cylinder-bore-2")
    assert "measured at 28 °C" in waiting.waits_for
    workshop.withdraw(SIX, taken.id, "with a gauge whose expansion is known", by=WHO)
    workshop.register_gauge(
        SIX, "mic-75-100", by=WHO, gauge_kind="outside micrometer", resolution="0.001 mm",
        expanded_uncertainty="0.002 mm", repeatability="0.0005 mm", expansion="11.5e-6 1/K",
    )  # fmt: skip
    workshop.read(SIX, "piston-2", "gauge-point", typed, "mic-75-100", by=WHO, **said)
    after = next(r for r in draft(workshop.state(SIX)).rows if r.row == "cylinder-bore-2")
    assert after.aim == before.aim
    assert "at 20 °C" in after.basis
    assert "taken as" not in after.basis


def test_a_piston_that_is_not_measured_leaves_its_row_waiting(workshop: Workshop) -> None:
    reading = workshop.state(SIX).features["piston-5"].readings[0]
    workshop.withdraw(SIX, reading.id, "wrong piston", by=WHO)
    ordered = next(r for r in draft(workshop.state(SIX)).rows if r.row == "cylinder-bore-5")
    assert ordered.waits_for == "piston 5 is not measured"
    assert ordered.aim is None


def test_a_piston_measured_before_it_was_coated_is_not_ordered_for(workshop: Workshop) -> None:
    workshop.add_part(
        SIX,
        {"identity": "P1", "part": "piston", "coated": "yes", "measured over": "bare metal"},
        by=WHO,
    )
    workshop.receive_part(SIX, "piston 1", "P1", by=WHO)
    ordered = next(r for r in draft(workshop.state(SIX)).rows if r.row == "cylinder-bore-1")
    assert "measured before it was coated" in ordered.waits_for


def test_sizes_are_rounded_to_what_the_shop_can_hold() -> None:
    assert rounded(0.0845024, 5e-6) == pytest.approx(0.0845, abs=1e-12)
    assert rounded(0.0845025, 5e-6) == pytest.approx(0.084505, abs=1e-12)
    assert rounded(0.0845024, None) == 0.0845024


@pytest.mark.parametrize(
    ("metric", "inch", "apart"), [(0.25, 0.010, 4), (0.5, 0.020, 8), (0.75, 0.030, 12)]
)
def test_metric_and_inch_undersizes_lie_apart(metric: float, inch: float, apart: int) -> None:
    """0.010/0.020/0.030 in against 0.25/0.50/0.75 mm: 4, 8, 12 µm (25.4 mm to the inch)."""
    assert twin(metric * 1e-3) == pytest.approx(inch * 0.0254)
    words = undersize_words(parse(f"{metric} mm", Dimension.LENGTH))
    assert f"Not {inch:.4f} in, which is {apart} µm more." in words
    back = undersize_words(parse(f"{inch} in", Dimension.LENGTH))
    assert f"{apart} µm less" in back


def test_deck_height_makes_the_squish(workshop: Workshop) -> None:
    """Half the stroke, rod, compression height and the clearance over the piston add up."""
    corner = next(r for r in draft(workshop.state(SIX)).rows if r.row.startswith("deck-height"))
    assert corner.aim == pytest.approx(44e-3 + 142e-3 + 31e-3 + (1.05e-3 - 0.75e-3))


def test_crosshatch_says_both_definitions(workshop: Workshop) -> None:
    hatch = next(r for r in draft(workshop.state(SIX)).rows if r.row == "crosshatch")
    assert "about the horizontal" in hatch.words
    assert "130…140° about the axis" in hatch.words


def test_an_order_is_revised_and_says_why_it_is_stale(workshop: Workshop) -> None:
    workshop.issue_order(SIX, by=WHO)
    first = order(workshop)
    assert (first.issued.order, first.issued.revision) == ("0117", 1)
    assert first.issued.derived == basis_hash(first.issued.rows)
    assert first.changed == ()
    reading = workshop.state(SIX).features["piston-3"].readings[0]
    workshop.withdraw(SIX, reading.id, "another piston", by=WHO)
    workshop.read(SIX, "piston-3", "gauge-point", "84.402 mm", reading.gauge, by=WHO)
    (changed,) = order(workshop).changed
    assert "Cylinder bore 3" in changed
    assert "84.4020 mm" in changed
    asked = [q for q in workshop.state(SIX).questions if "ordered otherwise" in q.sentence]
    assert len(asked) == 1
    workshop.issue_order(SIX, by=WHO)
    assert order(workshop).issued.revision == 2
    assert order(workshop).changed == ()


HOSTILE = '*bold* #panic() $x^2$ <label> "quoted" & <svg onload="x"/>'


def test_order_and_letter_are_set_whatever_was_typed(workshop: Workshop) -> None:
    assert workshop.order_sheet(SIX).startswith(b"%PDF-")
    workshop.issue_order(SIX, by=HOSTILE, shop=HOSTILE)
    said = {"row": "cylinder-bore-1", "value": "84.600 mm", "remark": HOSTILE, "gauge": HOSTILE}
    workshop.take_return(SIX, [{**said, "condition": HOSTILE}], by=HOSTILE)
    workshop.waive_row(SIX, "wash", HOSTILE, by=HOSTILE)
    workshop.add_part(SIX, {"identity": HOSTILE, "part": HOSTILE, "marks": HOSTILE}, by=HOSTILE)
    for data in (workshop.order_sheet(SIX), workshop.order_letter(SIX), workshop.book(SIX)):
        assert data.startswith(b"%PDF-")


def test_the_same_record_gives_the_same_order_byte_for_byte(workshop: Workshop) -> None:
    workshop.issue_order(SIX, by=WHO)
    assert workshop.order_sheet(SIX) == workshop.order_sheet(SIX)


# ---- the return


def test_a_return_sheet_is_checked_in_and_three_faults_are_caught(workshop: Workshop) -> None:
    workshop.issue_order(SIX, by=WHO)
    rows = {r.row.row: r.row for r in order(workshop).rows}
    over = (rows["cylinder-bore-4"].high or 0.0) + 0.02e-3
    inches = (rows["cylinder-bore-2"].aim or 0.0) / 0.0254
    workshop.take_return_sheet(
        SIX,
        sheet(
            workshop,
            cylinder_bore_4={"value": f"{over * 1e3:.3f} mm"},
            cylinder_bore_2={"value": f"{inches:.5f} in"},
            cylinder_bore_6={"value": "", "condition": "", "gauge": ""},
        ),
        "return.csv",
        by=WHO,
        returned={"pistons": 5, "block": 1},
    )
    for number in "12345":
        ordered = rows[f"cylinder-bore-{number}"]
        size = over if number == "4" else ordered.aim
        measure(workshop, f"cylinder-bore-{number}", size or 0.0)
    # One bore 0.02 mm over: by the shop's own figure and by ours.
    bore = row(workshop, "cylinder-bore-4")
    assert (bore.shop_verdict, bore.verdict) == (Verdict.OUTSIDE, Verdict.OUTSIDE)
    assert bore.standing == "outside"
    assert bore.agreement is Agreement.AGREE
    # One row in inches: read as what it is, and said.
    bore = row(workshop, "cylinder-bore-2")
    assert bore.shop == pytest.approx(rows["cylinder-bore-2"].aim, abs=0.2e-6)
    assert any("written in inches" in flag for flag in bore.flags)
    assert bore.standing in {"in order", "too close to call"}
    # One not measured.
    assert row(workshop, "cylinder-bore-6").standing == "not returned"
    asked = {q.sentence for q in workshop.state(SIX).questions if q.kind is QuestionKind.ORDER}
    assert any("Cylinder bore 4 is outside what was ordered" in s for s in asked)
    assert any("Cylinder bore 6" in s and "nothing came back" in s for s in asked)
    assert any("of 6 pistons sent, 5 came back" in s for s in asked)
    assert any("the flywheel is not chosen yet" in s for s in asked)


def test_a_row_in_the_wrong_unit_refuses_the_sheet_whole(workshop: Workshop) -> None:
    workshop.issue_order(SIX, by=WHO)
    before = workshop.state(SIX).checkpoint
    data = sheet(workshop, cylinder_bore_2={"value": "3.3268 mm"})
    with pytest.raises(ImportFileError) as caught:
        workshop.take_return_sheet(SIX, data, "return.csv", by=WHO)
    (fault,) = caught.value.faults
    assert "no size of what was ordered" in fault.wrong
    assert "In inches it would be 84.501 mm" in fault.right
    with pytest.raises(ImportFileError):
        workshop.take_return_sheet(
            SIX, sheet(workshop, cylinder_bore_2={"value": "84.501"}), "return.csv", by=WHO
        )
    assert workshop.state(SIX).checkpoint == before


def test_honing_bore_3_again_makes_exactly_its_rows_stale(workshop: Workshop) -> None:
    workshop.issue_order(SIX, by=WHO)
    workshop.take_return_sheet(
        SIX,
        sheet(
            workshop,
            cylinder_bore_out_of_round_3={"value": "0.004 mm"},
            cylinder_bore_taper_3={"value": "0.003 mm"},
            cylinder_bore_taper_2={"value": "0.003 mm"},
        ),
        "return.csv",
        by=WHO,
    )
    for number in "23":
        measure(workshop, f"cylinder-bore-{number}", row(workshop, "cylinder-bore-3").row.aim or 0)
        workshop.read(
            SIX, f"top-ring-gap-{number}", "gap", "0.46 mm", "feeler-gauge", by=WHO
        )  # fmt: skip
    assert not any(r.stale for r in order(workshop).rows)
    fresh = {f.feature.id for f in workshop.state(SIX).features.values() if f.stale}
    workshop.rework(SIX, "block", ["cylinder-bore-3"], "honed again", by=WHO)
    stale = {r.row.row for r in order(workshop).rows if r.stale}
    assert stale == {"cylinder-bore-3", "cylinder-bore-out-of-round-3", "cylinder-bore-taper-3"}
    state = workshop.state(SIX)
    features = {f.feature.id for f in state.features.values() if f.stale} - fresh
    assert features == {"cylinder-bore-3", "top-ring-gap-3"}
    assert row(workshop, "cylinder-bore-3").standing == "stale"


def test_a_disagreement_needs_two_uncertainties_and_one_state(workshop: Workshop) -> None:
    workshop.issue_order(SIX, by=WHO)
    aim = row(workshop, "cylinder-bore-1").row.aim or 0.0
    workshop.take_return(
        SIX,
        [
            {"row": "cylinder-bore-1", "value": f"{aim * 1e3:.3f} mm", "condition": PLATE},
            {"row": "cylinder-bore-2", "value": f"{aim * 1e3:.3f} mm", "condition": "no plate"},
            {"row": "cylinder-bore-3", "value": f"{aim * 1e3:.3f} mm", "condition": PLATE,
             "uncertainty": "0.030 mm"},
        ],
        by=WHO,
    )  # fmt: skip
    for number in "123":
        measure(workshop, f"cylinder-bore-{number}", aim + 0.012e-3)
    first, second, third = (row(workshop, f"cylinder-bore-{n}") for n in "123")
    assert first.agreement is Agreement.DISAGREE
    assert first.expanded == pytest.approx((4e-6**2 + (first.own_expanded or 0) ** 2) ** 0.5)
    assert second.agreement is Agreement.CANNOT_TELL
    assert any("no plate" in flag for flag in second.flags)
    assert third.agreement is Agreement.CANNOT_TELL


def test_what_was_measured_before_the_order_says_nothing_of_what_came_back(
    workshop: Workshop,
) -> None:
    measure(workshop, "cylinder-bore-1", 84.0e-3)
    workshop.issue_order(SIX, by=WHO)
    aim = row(workshop, "cylinder-bore-1").row.aim or 0.0
    said = {"row": "cylinder-bore-1", "value": f"{aim * 1e3:.3f} mm", "condition": PLATE}
    workshop.take_return(SIX, [said], by=WHO)
    bore = row(workshop, "cylinder-bore-1")
    assert bore.own is None
    assert bore.standing == "not measured here"
    reading = workshop.state(SIX).features["cylinder-bore-1"].readings[0]
    assert reading.standing == "stale"
    assert "was machined: order 0117" in reading.why


def test_what_is_waived_is_settled_and_says_by_whom(workshop: Workshop) -> None:
    workshop.issue_order(SIX, by=WHO)
    workshop.waive_row(SIX, "balance-flywheel", "balanced with the clutch, later", by="the builder")
    waived = row(workshop, "balance-flywheel")
    assert (waived.standing, waived.waived_by, waived.settled) == ("waived", "the builder", True)
    with pytest.raises(EntryError):
        workshop.waive_row(SIX, "wash", " ", by=WHO)
    with pytest.raises(NotFoundError):
        workshop.waive_row(SIX, "washing", "x", by=WHO)


def test_a_warm_part_is_flagged_with_what_it_makes(workshop: Workshop) -> None:
    """84.5 mm of grey iron 20 K warm is some 18 µm bigger."""
    workshop.issue_order(SIX, by=WHO)
    aim = row(workshop, "cylinder-bore-1").row.aim or 0.0
    said = {"row": "cylinder-bore-1", "value": f"{aim * 1e3:.3f} mm", "temperature": "40 °C"}
    workshop.take_return(SIX, [said], by=WHO)
    flags = row(workshop, "cylinder-bore-1").flags
    assert any("measured at 40 °C" in flag and "+0.01" in flag for flag in flags)


@pytest.mark.parametrize(
    ("said", "error"),
    [
        ({"row": "cylinder-bore-9", "value": "84 mm"}, NotFoundError),
        ({"row": "wash", "value": "84 mm"}, EntryError),
        ({"row": "wash", "done": "perhaps"}, EntryError),
        ({"row": "cylinder-bore-1", "value": "84.5"}, QuantityError),
        ({"row": "cylinder-bore-1", "value": "35 N·m"}, QuantityError),
        ({"row": "cylinder-bore-1", "value": "84.5 mm", "uncertainty": "-1 µm"}, QuantityError),
        ({"row": "cylinder-bore-1", "value": "84.5 mm", "temperature": "20 mm"}, QuantityError),
        ({"row": "crosshatch", "value": "45 mm"}, QuantityError),
        ({"row": "cylinder-bore-taper-1", "value": "-0.004 mm"}, QuantityError),
        ({"row": "cylinder-bore-1"}, NotPossibleError),
    ],
)
def test_a_row_that_cannot_be_is_refused_in_a_sentence(
    workshop: Workshop, said: dict[str, str], error: type[Exception]
) -> None:
    workshop.issue_order(SIX, by=WHO)
    before = workshop.state(SIX).checkpoint
    with pytest.raises(error):
        workshop.take_return(SIX, [said], by=WHO)
    assert workshop.state(SIX).checkpoint == before


def test_there_is_no_return_without_an_order(workshop: Workshop) -> None:
    with pytest.raises(NotPossibleError):
        workshop.take_return(SIX, [{"row": "wash", "done": "yes"}], by=WHO)


def test_surfaces_are_read_in_either_unit(workshop: Workshop) -> None:
    """1 µm is 39.37 µin; Rvk 72 µin is 1.829 µm (25.4 mm to the inch)."""
    workshop.issue_order(SIX, by=WHO)
    workshop.take_return(SIX, [{"row": "boring-and-honing-rvk", "value": "72 µin"}], by=WHO)
    rvk = row(workshop, "boring-and-honing-rvk")
    assert rvk.shop == pytest.approx(1.829e-6, abs=0.0005e-6)
    assert rvk.shop_verdict is Verdict.INSIDE


@pytest.mark.parametrize(
    ("row", "value", "hint"),
    [
        # Out-of-round in mm for µm; Ra in mm for µm; Ra in µm for µin (25.4 mm to the inch).
        ("cylinder-bore-out-of-round-1", "4 mm", "In µm it would be 4 µm"),
        ("boring-and-honing-ra", "0.4 mm", "In µm it would be 0.4 µm"),
        ("boring-and-honing-ra", "16 µm", "In µin it would be 0.41 µm"),
        ("boring-and-honing-ra", "16 mm", "Check number, unit and row."),
        # The other angle that people mean by it: together they are 180°.
        ("crosshatch", "135 deg", "About the horizontal the same lines make 45°"),
    ],
)
def test_a_figure_in_the_wrong_unit_is_refused_with_the_right_one(
    workshop: Workshop, row: str, value: str, hint: str
) -> None:
    workshop.issue_order(SIX, by=WHO)
    before = workshop.state(SIX).checkpoint
    with pytest.raises(QuantityError) as caught:
        workshop.take_return(SIX, [{"row": row, "value": value}], by=WHO)
    assert hint in caught.value.hint
    assert workshop.state(SIX).checkpoint == before


def test_a_poor_figure_is_taken_as_it_is(workshop: Workshop) -> None:
    """What is far outside but could be is no slip of the unit: it is a verdict."""
    workshop.issue_order(SIX, by=WHO)
    for name, value in (
        ("cylinder-bore-out-of-round-1", "0.15 mm"),
        ("boring-and-honing-ra", "3.2 µm"),
        ("crosshatch", "25 deg"),
    ):
        workshop.take_return(SIX, [{"row": name, "value": value}], by=WHO)
        assert row(workshop, name).standing == "outside"
