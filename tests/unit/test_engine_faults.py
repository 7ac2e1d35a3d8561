"""Every fault of an engine file at once, each with its line, its key and what would be right."""

import pytest
from tests.engine_makers import engine_text, fault_at, faults_of, six

from bedplate.engine import examples, read_engine, read_engine_bytes
from bedplate.engine.read import GREATEST_SIZE
from bedplate.errors import EngineFileError


def test_all_faults_at_once_in_the_order_of_the_file():
    text = six(
        ('"1-5-3-6-2-4"', '"1-5-3-6-4-2"'),
        ('bore       = "84.50 mm"', "bore = 84.5"),
        ('"grey iron"', '"grey irn"'),
        ("count   = 7", "cuont = 7"),
        ('feature = "cylinder bore"', 'feature = "cylinder bores"'),
        ('kind   = "main clearance"', 'kind = "main clearence"'),
        ('target = "0.040 mm"', 'target = "0.060 mm"'),
        ('limits = "0.012 mm"', 'limits = "0.012"'),
        ('source = "invented manual 2-43"', ""),
    )
    faults = faults_of(text)
    assert [(f.line, f.key) for f in faults] == [
        (15, "engine.firing"),
        (23, "geometry.bore"),
        (32, "materials.block"),
        (41, "mains.count"),
        (42, "mains.cuont"),
        (87, "stations[1].feature"),
        (95, "fit[1].kind"),
        (97, "fit[1].target"),
        (118, "fit[4].limits"),
        (136, "fit[8].source"),
    ]
    assert {f.file for f in faults} == {"test.toml"}
    assert all(f.wrong and f.right for f in faults)


def test_the_error_counts_and_says_what_to_do():
    with pytest.raises(EngineFileError) as caught:
        read_engine("schema = 2\n", "mine.toml")
    error = caught.value
    assert error.sentence == "mine.toml has 4 faults."
    assert error.hint
    assert error.exit_code == 3
    assert "mine.toml:1: schema: schema 2 is not known here; this version reads schema 1" in [
        str(fault) for fault in error.faults
    ]


@pytest.mark.parametrize(
    ("old", "new", "key", "right"),
    [
        ("count   = 7", "cuont = 7", "mains.cuont", "did you mean 'count'?"),
        ('"grey iron"', '"grey irn"', "materials.block", "did you mean 'grey iron'?"),
        ('"main housing"', '"main houzing"', "fit[3].kind", "did you mean 'main housing'?"),
        ('"single caps, 2 bolts"', '"single caps 2 bolts"', "mains.caps", "did you mean"),
        ('feature = "cylinder bore"', 'feature = "bore"', "stations[1].feature", "the kinds are"),
        ('measure = "either"', 'measure = "feelers"', "fit[15].measure", "'feeler'"),
    ],
)
def test_a_word_that_is_not_known_gets_the_nearest_one(old, new, key, right):
    assert right in fault_at(six((old, new)), key).right


@pytest.mark.parametrize(
    ("old", "new", "key", "wrong"),
    [
        ('stroke     = "88.0 mm"', "stroke = 88.0", "geometry.stroke", "88.0 is a bare number"),
        ('stroke     = "88.0 mm"', 'stroke = "88"', "geometry.stroke", "has no unit"),
        ('stroke     = "88.0 mm"', 'stroke = "88.0 in"', "geometry.stroke", "does not go with"),
        ('stroke     = "88.0 mm"', 'stroke = "88 bar"', "geometry.stroke", "pressure"),
        ('rod        = "142.0 mm"', 'rod = "142.0 in"', "geometry.rod", "is no rod of an engine"),
        ('deck       = "217.30 mm"', 'deck = "271.30 mm"', "geometry.deck", "leaves 54.30 mm"),
        ('"64.000..64.016 mm"  ', '"54.000..54.016 mm"  ', "mains.housing", "is not bigger than"),
        ('"1.985..1.993 mm"', '"1.085..1.093 mm"', "mains.shell", "housing less two shells"),
        ("thrust  = 6", "thrust = 9", "mains.thrust", "there is no main 9"),
        ('caps    = "single caps, 2 bolts"', "caps = []", "mains.caps", "a list stands here"),
        ("schema = 1", "schema = [1]", "schema", "a list stands here"),
        ("count   = 7", "count = true", "mains.count", "true or false stands here"),
        ("count   = 7", "count = 70", "mains.count", "70 is out of range"),
        ('speed    = "7200 rpm"', 'speed = "7200 mm"', "engine.speed", "length"),
        ('"steel"', '""', "materials.crank", "is empty"),
        ("coverage = 2", "coverage = nan", "measuring.coverage", "out of range"),
        ('"0.08..0.20 mm"', '"0.20..0.08 mm"', "fit[8].limits", ""),
        ('"0.08..0.20 mm"', '"0.08..0.20 mm (0.003..0.080 in)"', "fit[8].limits", "contradict"),
        ('["12 mm", "45 mm", "105 mm"]', '["12", "45 mm"]', "stations[1].depth", "has no unit"),
        ('["thrust", "crank"]', '["thrust", "thrust"]', "stations[1].axis", "stands twice"),
        ('["thrust", "crank"]', "[]", "stations[1].axis", "the list is empty"),
        ('"the thrust main"', "[8]", "fit[2].only", "there is no main 8"),
        ('axis   = ["0 deg", "90 deg"]', 'at = ["a"]\naxis = ["b"]', "feature[1].at", "beside"),
        ('name   = "oil pump drive bore"', 'name = "piston"', "feature[1].name", "cannot be used"),
        ("coverage = 2  ", 'coverage = "2"  ', "measuring.coverage", "text stands here"),
    ],
)  # fmt: skip
def test_a_value_that_cannot_be_meant_is_said_so(old, new, key, wrong):
    fault = fault_at(six((old, new)), key)
    assert wrong in fault.wrong
    assert fault.line > 0


@pytest.mark.parametrize("key", ["within 30 of the split", "within 100 deg of the split", "top"])
def test_places_of_limits(key):
    text = six(("within 30 deg of the split", key))
    assert fault_at(text, f"fit[3].limits.'{key}'" if " " in key else f"fit[3].limits.{key}")


def test_a_table_of_limits_needs_its_default():
    text = six(('default = "64.000..64.016 mm", ', ""))
    assert "is missing" in fault_at(text, "fit[3].limits.default").wrong


def test_only_a_size_has_limits_near_the_split():
    text = six(('limits = "0.025..0.055 mm"', 'limits = { default = "0.025..0.055 mm" }'))
    assert "only a size" in fault_at(text, "fit[1].limits").wrong


def test_a_direction_that_no_station_has():
    text = six(('kind   = "end float"', 'kind = "end float"\naxis = ["45 deg"]'))
    assert "no station lies at '45 deg'" in fault_at(text, "fit[8].axis").wrong


def test_the_same_fit_twice_is_told_once_and_a_name_mends_it():
    again = '[[fit]]\nkind = "rod clearance"\nlimits = "0.05..0.07 mm"\nsource = "x"\n'
    text = examples()["straight-six"] + again
    fault = fault_at(text, "fit[30].kind")
    assert "Rod clearance 1 already has its limits on line" in fault.wrong
    named = read_engine(text + 'name = "rod clearance, head fitted"\n')
    assert named.fits["rod-clearance-head-fitted-3"].name == "Rod clearance, head fitted 3"


def test_thrust_main_without_a_thrust_main():
    fault = fault_at(six(("thrust  = 6", "")), "fit[1].only")
    assert "does not say which main takes the thrust" in fault.wrong


def test_missing_keys_say_what_to_write():
    text = engine_text().replace('rod = "140 mm"\n', "")
    fault = fault_at(text, "geometry.rod")
    assert (fault.line, fault.wrong) == (8, "is missing")
    assert fault.right == 'write rod = "152.0 mm" (rod length, centre to centre)'


@pytest.mark.parametrize(
    ("text", "line", "wrong", "right"),
    [
        ("schema = 1\n[engine]\nbore = 86 mm\n", 3, "not TOML", "put a quantity in quotes"),
        ("a = 1\na = 2\n", 2, "stands twice", "keep one"),
        ("[a]\n[a]\n", 2, "stands twice", "keep one"),
        ("a = \n", 1, "not TOML", ""),
        ('a = "', 1, "not TOML", ""),
        ("a = " + "[" * 5000, 0, "nested too deeply", ""),
        ("a = " + "9" * 5000, 0, "too many digits", ""),
        ("x\n" + "a." * 40 + "a = 1", 2, "more than 30 parts", ""),
        ("a = 1\nb = '\ud800'", 2, "no Unicode text", ""),
        ("#" * (GREATEST_SIZE + 1), 0, "larger than 1 MiB", ""),
    ],
)
def test_what_is_no_toml_is_one_fault_with_its_line(text, line, wrong, right):
    (fault,) = faults_of(text)
    assert fault.line == line
    assert wrong in fault.wrong
    assert right in fault.right


def test_bytes_with_and_without_a_mark():
    data = examples()["straight-six"].encode()
    assert read_engine_bytes(b"\xef\xbb\xbf" + data) == read_engine_bytes(data)


@pytest.mark.parametrize(
    ("data", "line", "wrong"),
    [
        (b"schema = 1\nname = '\xff'", 2, "is not UTF-8 text"),
        ("schema = 1".encode("utf-16"), 1, "is not UTF-8 text"),
        (b" " * (GREATEST_SIZE + 1), 0, "larger than 1 MiB"),
    ],
)
def test_bytes_that_are_no_text(data, line, wrong):
    with pytest.raises(EngineFileError) as caught:
        read_engine_bytes(data, "x.toml")
    (fault,) = caught.value.faults
    assert (fault.line, wrong in fault.wrong) == (line, True)


def test_a_fault_stays_short_and_on_one_line_whatever_was_written():
    text = engine_text('"""\n' + "x\n" * 3000).replace('layout = """', 'layout = """', 1)
    for fault in faults_of(text.replace('"\nfiring', '"""\nfiring', 1)):
        assert "\n" not in str(fault)
        assert len(str(fault)) < 2000


def test_of_very_many_faults_the_first_are_listed():
    with pytest.raises(EngineFileError) as caught:
        read_engine("".join(f"key{n} = 1\n" for n in range(1000)))
    assert len(caught.value.faults) == 200
    assert "1004 faults; the first 200 are listed" in caught.value.sentence
