"""Presses and clearances between a hole and a shaft that the engine file names."""

import tomllib

import jsonschema
import pytest
from tests.engine_makers import an_engine, engine_text, fault_at, faults_of

from bedplate.engine import FIT_KINDS, Gate, Per, schema


def feature(name, shape, more="", per="engine"):
    return (
        f'[[feature]]\nname = "{name}"\npart = "{name}"\nper = "{per}"\nshape = "{shape}"\n{more}\n'
    )


def fit(kind="press", hole="liner seat", shaft="liner", limits="0.02..0.05 mm", more=""):
    named = "".join(f'{k} = "{v}"\n' for k, v in (("hole", hole), ("shaft", shaft)) if v)
    return f'[[fit]]\nkind = "{kind}"\n{named}limits = "{limits}"\nsource = "x"\n{more}\n'


def liners(per="cylinder", fits=None, hole="", shaft='nominal = "92 mm"'):
    surfaces = feature("liner seat", "hole", hole, per) + feature("liner", "shaft", shaft, per)
    return surfaces + (fit() if fits is None else fits)


def test_pairs_go_by_number():
    engine = an_engine(tail=liners())
    assert list(engine.fits) == [f"liner-seat-press-{n}" for n in (1, 2, 3, 4)]
    third = engine.fits["liner-seat-press-3"]
    assert (third.kind, third.sense, third.per) == ("press", "interference", Per.CYLINDER)
    assert (third.name, third.formula) == ("Liner seat press 3", "liner − liner seat")
    assert (third.ways[0].space, third.ways[0].bodies) == ("liner-seat-3", ("liner-3",))
    assert third.gate is Gate.FIRST_START


def test_a_clearance_is_the_hole_less_the_shaft_and_guards_the_gate_it_names():
    more = 'gate = "closing the mains"\nname = "pump shaft clearance"\n'
    engine = an_engine(tail=liners("engine", fit("clearance", more=more)))
    assert list(engine.fits) == ["pump-shaft-clearance"]
    only = engine.fits["pump-shaft-clearance"]
    assert (only.sense, only.formula) == ("clearance", "liner seat − liner")
    assert only.gate is Gate.CLOSING_MAINS


def test_kinds_of_feature_can_be_named_too():
    engine = an_engine(tail=fit(hole="small end", shaft="piston pin"))
    assert engine.fits["small-end-press-2"].ways[0].features == ("small-end-2", "piston-pin-2")
    assert {f.kind for f in engine.features.values()} == {"small end", "piston pin"}


def test_a_feature_that_a_fit_uses_needs_no_limits_and_may_have_them():
    assert not any(f.kind == "own" for f in an_engine(tail=liners()).fits.values())
    engine = an_engine(tail=liners(shaft='limits = "92.00..92.02 mm"\nsource = "x"'))
    assert engine.fits["liner-1"].kind == "own"
    assert engine.fits["liner-1"].limits[0].range.text == "92.00..92.02 mm"


def test_a_size_is_expected_by_its_partner_in_the_fit():
    press, loose = an_engine(tail=liners()), an_engine(tail=liners(fits=fit("clearance")))
    assert press.features["liner-seat-1"].nominal == pytest.approx(92e-3 - 35e-6)
    assert loose.features["liner-seat-1"].nominal == pytest.approx(92e-3 + 35e-6)
    assert loose.features["liner-seat-1"].play == pytest.approx(0.15e-3)
    other = an_engine(tail=liners(hole='nominal = "92 mm"', shaft=""))
    assert other.features["liner-1"].nominal == pytest.approx(92e-3 + 35e-6)
    assert an_engine(tail=liners(shaft="")).features["liner-1"].nominal is None


def test_the_hole_is_measured_in_the_state_of_the_fit():
    stated = fit(more='state = "block cold"')
    engine = an_engine(tail=liners(fits=stated))
    assert engine.features["liner-seat-1"].condition == "block cold"
    assert engine.features["liner-1"].condition == ""
    own = an_engine(tail=liners(fits=stated, hole='state = "head off"'))
    assert own.features["liner-seat-1"].condition == "head off"


def test_a_part_of_its_own_may_say_what_it_is_made_of():
    engine = an_engine(tail=liners(hole='material = "aluminium"'))
    assert engine.features["liner-seat-2"].material == "aluminium"
    assert engine.features["liner-2"].material == ""
    own = '{ name = "liner iron", expansion = "11 µm/(m·K)" }'
    engine = an_engine(tail=liners(shaft=f"material = {own}"))
    assert engine.features["liner-2"].material == "liner iron"
    assert engine.materials["liner iron"].expansion == pytest.approx(11e-6)
    wrong = engine_text(tail=liners(shaft='material = "stel"'))
    assert fault_at(wrong, "feature[2].material").right == "did you mean 'steel'?"


def test_only_leaves_the_numbers_that_both_have():
    one = liners(shaft="only = [1, 4]")
    assert fault_at(engine_text(tail=one), "fit[1].shaft").wrong == "there is no 'liner' 2, 3"
    both = liners(shaft="only = [1, 4]", fits=fit(more="only = [4]"))
    assert list(an_engine(tail=both).fits) == ["liner-seat-press-4"]


@pytest.mark.parametrize(
    ("fits", "key", "wrong", "right"),
    [
        (fit(hole="liner seet"), "hole", "'liner seet' is not a feature", "mean 'liner seat'?"),
        (fit(shaft="piston pim"), "shaft", "'piston pim' is not", "did you mean 'piston pin'?"),
        (fit(hole="qqqq"), "hole", "'qqqq' is not a feature", "own are liner seat, liner"),
        (fit(hole=""), "hole", "is missing", 'write hole = "..."'),
        (fit(shaft=""), "shaft", "is missing", 'write shaft = "..."'),
        (fit(hole="liner", shaft="liner seat"), "hole", "'liner' is the shaft", "swap the two"),
        (fit(hole="piston pin"), "hole", "'piston pin' is a shaft, not a hole", "shape is 'hole'"),
        (fit(shaft="small end"), "shaft", "'small end' is a hole, not a shaft", "is 'shaft'"),
        (fit(shaft="rod width"), "shaft", "'rod width' is a wall", "shape is 'shaft'"),
        (fit(shaft="liner seat"), "shaft", "both 'liner seat'", "name two surfaces"),
        (fit(shaft="crank snout"), "hole", "'liner seat' per cylinder but one", "equally many"),
        (fit(limits="-0.05..-0.02 mm"), "limits", "leaves no interference", 'kind = "clearance"'),
        (fit("clearance", limits="-3..-2 thou"), "limits", "leaves no clearance", '"press"'),
        (fit(more='measure = "either"'), "measure", "is measured in one way", "leave it out"),
    ],
)  # fmt: skip
def test_each_wrong_name_is_one_fault(fits, key, wrong, right):
    (fault,) = faults_of(engine_text(tail=liners(fits=fits)))
    assert fault.key == f"fit[1].{key}"
    assert wrong in fault.wrong
    assert right in fault.right
    assert fault.line > 12


def test_without_features_of_its_own_a_file_is_told_to_add_one():
    fault = fault_at(engine_text(tail=fit(hole="qqqq", shaft="piston pin")), "fit[1].hole")
    assert fault.right == 'add a [[feature]] of that name, shape = "hole"'


def test_a_kind_with_surfaces_of_its_own_takes_no_names():
    tail = fit("end float", more='gate = "first start"')
    faults = {fault.key: fault for fault in faults_of(engine_text(tail=tail))}
    assert list(faults) == ["fit[1].hole", "fit[1].shaft", "fit[1].gate"]
    assert "has its own surfaces" in faults["fit[1].hole"].wrong
    assert "always comes before closing the mains" in faults["fit[1].gate"].wrong


@pytest.mark.parametrize(
    ("more", "key", "wrong"),
    [
        ("", "limits", "is missing"),
        ('limits = "1..2 mm"', "source", "is missing"),
        ('limits = "1 bar..2 mm"\nsource = "x"', "limits", ""),
    ],
)
def test_a_feature_that_no_fit_uses_needs_limits_and_source(more, key, wrong):
    (fault,) = faults_of(engine_text(tail=feature("seat", "hole", more)))
    assert fault.key == f"feature[1].{key}"
    assert wrong in fault.wrong


def test_a_target_of_a_feature_needs_limits():
    tail = liners(shaft='target = "92 mm"')
    assert fault_at(engine_text(tail=tail), "feature[2].target").wrong == "stands without limits"


@pytest.mark.parametrize(
    ("more", "key"),
    [('limits = "wide"\nsource = "x"', "limits"), ('nominal = "92"', "nominal")],
)
def test_a_fault_in_a_feature_is_not_told_again_at_its_fit(more, key):
    axis = fit(more='axis = ["0 deg"]')
    keys = [f.key for f in faults_of(engine_text(tail=liners(shaft=more, fits=axis)))]
    assert keys[:1] == [f"feature[2].{key}"]
    assert not any(key.startswith("fit[1].s") for key in keys)


def test_two_presses_of_one_hole_need_names():
    tail = liners("engine", fit() + fit())
    assert "give this one a name" in fault_at(engine_text(tail=tail), "fit[2].kind").right
    named = liners("engine", fit() + fit(more='name = "liner press, cold"'))
    assert len(an_engine(tail=named).fits) == 2


@pytest.mark.parametrize(
    "tail",
    [fit(hole=""), fit(shaft=""), feature("seat", "hole", 'limits = "1..2 mm"')],
)
def test_an_editor_sees_what_is_missing_as_well(tail):
    validator = jsonschema.Draft202012Validator(schema())
    validator.validate(tomllib.loads(engine_text(tail=liners())))
    with pytest.raises(jsonschema.ValidationError):
        validator.validate(tomllib.loads(engine_text(tail=tail)))


def test_the_formula_puts_what_counts_positive_first():
    assert FIT_KINDS["press"].formula == "shaft − hole"
    assert FIT_KINDS["clearance"].formula == "hole − shaft"
    assert FIT_KINDS["damper press"].formula == "crank snout − damper hub"
