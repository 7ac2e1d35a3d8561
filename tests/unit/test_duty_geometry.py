"""What the engine file says by its lengths and materials counts without a fit that measures it."""

import re
from dataclasses import replace

import pytest
from tests.engine_makers import fault_at, six

from bedplate.cli.main import main
from bedplate.engine import read_engine
from bedplate.errors import InputError
from bedplate.quantity import Units
from bedplate.shop.duty.bearings import film_bearings
from bedplate.shop.duty.check import duty_check
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given, How
from bedplate.shop.duty.heat import hot_fits
from bedplate.shop.duty.reasons import why
from bedplate.shop.duty.volumes import volumes


def without(*kinds):
    """Return the straight six without the fits of these kinds."""
    text = six()
    for kind in kinds:
        text, count = re.subn(rf'\[\[fit\]\]\nkind +?= "{kind}".*\n(?:\w.*\n)*', "", text)
        assert count == 1, kind
    return text


def ratio_by_hand(below):
    """Return (V + v)/v from the file's own figures, the deck of the first cylinder apart."""
    one = volumes(Given(read_engine(six()))).cylinders[0]
    clearance = one.clearance - one.terms.deck + one.swept * below / read_engine(six()).stroke
    return (one.swept + clearance) / clearance


def test_the_deck_follows_from_the_four_lengths_where_no_fit_measures_it():
    engine = read_engine(without("deck clearance"))
    # Deck 217.30 less half the stroke, rod and compression height.
    below = 217.30e-3 - engine.stroke / 2 - engine.rod - 31.00e-3
    found = volumes(Given(engine))
    assert [dict(one.sources)["deck clearance"].value for one in found.cylinders] == [
        pytest.approx(below, abs=1e-9)
    ] * 6
    assert found.cylinders[0].ratio == pytest.approx(ratio_by_hand(below), rel=1e-9)
    assert not any("Deck clearance" in sentence for sentence in found.unknown)


def test_limits_that_disagree_with_the_four_lengths_are_said_and_do_not_count():
    engine = read_engine(six(('"217.30 mm"', '"217.40 mm"'), ('"0.20..0.40 mm"', '"0.0..0.2 mm"'),
                             ('target = "0.30 mm"\n', "")))  # fmt: skip
    found = volumes(Given(engine))
    below = 217.40e-3 - engine.stroke / 2 - engine.rod - 31.00e-3
    assert found.cylinders[0].ratio == pytest.approx(ratio_by_hand(below), rel=1e-9)
    said = [sentence for sentence in found.unknown if sentence.startswith("Deck clearance")]
    assert len(said) == 1
    assert "0.400 mm by deck" in said[0] or "0.40 mm by deck" in said[0]
    assert "by its limits in 1, 2, 3, 4, 5, 6" in said[0]


def test_files_that_agree_say_nothing_of_it():
    engine = read_engine(six())
    found = volumes(Given(engine))
    assert not any("Deck clearance" in sentence for sentence in found.unknown)
    bare = replace(engine, deck_clearance=None)
    assert volumes(Given(bare)).cylinders == found.cylinders


def test_bearings_grow_the_same_with_and_without_a_fit_of_their_housing():
    engine = read_engine(six())
    whole = film_bearings(Given(engine))
    unmeasured = ("housing", "bearing-bore", "upper-shell")
    kept = {
        name: one
        for name, one in engine.features.items()
        if not any(part in name for part in unmeasured)
    }
    assert len(kept) < len(engine.features)
    bare = Given(replace(engine, features=kept))
    alone = film_bearings(bare)
    assert [one.bearing.expansion for one in alone] == [one.bearing.expansion for one in whole]
    assert all(one.is_warmed for one in alone)
    said = hot_fits(bare, alone)[1]
    assert not any("Clearance of" in sentence for sentence in said)


COLD = ('crank  = "steel"\n', "")


def test_a_clearance_that_cannot_be_told_hot_is_called_cold(tmp_path, capsys):
    file = tmp_path / "six.toml"
    file.write_text(six(COLD))
    assert main(["film", str(file), "main-2", "--speed", "4000 rpm"]) == 0
    printed = capsys.readouterr().out
    assert "clearance cold" in printed
    assert "hot" not in printed
    file.write_text(six())
    assert main(["film", str(file), "main-2", "--speed", "4000 rpm"]) == 0
    assert "clearance in film" in capsys.readouterr().out


def test_a_hot_clearance_says_that_its_shell_is_as_warm_as_the_oil_and_the_film_its_own():
    known = Given(read_engine(six()))
    check = duty_check(known, (418.9,))
    fit = next(one for one in check.hot if one.name == "clearance of rod 1")
    shell = dict(fit.sources)["shell temperature"]
    assert shell.how is How.ESTIMATED
    assert "as warm as the oil supplied" in shell.source
    assert "oil supply's temperature" in fit.says(Units.METRIC)
    film = next(one for one in check.rows[0].films if one.bearing.id == "rod-1")
    growth = film.bearing.bearing.expansion
    assert growth is not None
    # The two differ by what both halves of the shell's wall grow from the supply to the film.
    warmer = film.film.film_temperature - shell.value
    assert fit.hot - film.film.clearance == pytest.approx(
        2 * growth.shell_wall * growth.shell * warmer, abs=1e-9
    )
    assert film.bearing.clearance_name == "Clearance in the film"


def test_all_that_the_burn_needs_is_asked_for_at_once():
    engine = read_engine(six())
    lacking = ("valves.inlet_closes", "valves.exhaust_opens", "combustion.burn_duration")
    figures = {key: one for key, one in engine.duty.figures.items() if key not in lacking}
    bare = replace(engine, duty=replace(engine.duty, figures=figures, traces=()))
    with pytest.raises(InputError) as raised:
        pressure_at(Given(bare), 400.0)
    assert all(key in raised.value.hint for key in lacking)
    assert "burn_start" not in raised.value.hint


def test_an_angle_that_cannot_be_is_named_as_an_angle():
    fault = fault_at(six(('"58 deg"', '"200 deg"')), "valves.inlet_closes")
    assert "is no angle after bottom dead centre at which an inlet closes" in str(fault)


@pytest.mark.parametrize("cases", ["0", "-1", "1000001"])
def test_a_number_of_cases_that_cannot_be_is_refused(tmp_path, capsys, cases):
    file = tmp_path / "six.toml"
    file.write_text(six())
    assert main(["film", str(file), "main-2", f"--cases={cases}"]) != 0
    assert "give 1 to 1000000" in capsys.readouterr().err


def test_one_rod_bearing_alone_is_not_called_alike():
    check = duty_check(Given(read_engine(six())), (418.9,))
    films = check.rows[0].films
    rods = [one for one in films if one.bearing.kind == "rod"]
    assert "alike to 2 %" in why(check.train, rods[:1] * 2, rods[0], 4000.0, Units.METRIC)
    assert "alike" not in why(check.train, rods[:1], rods[0], 4000.0, Units.METRIC)


def test_a_printed_ratio_that_the_terms_do_not_give_is_told_and_one_they_do_is_not():
    plain = volumes(Given(read_engine(six()))).cylinders[0]

    def said(printed):
        text = six(("[chamber]\n", f'[chamber]\nratio = "{printed}"\n'))
        found = volumes(Given(read_engine(text)))
        assert found.cylinders[0].ratio == plain.ratio
        return [one for one in found.unknown if one.startswith("Compression ratio")]

    assert len(said("14:1")) == 1
    assert f"14:1, but its terms give {plain.ratio:.2f}" in said("14:1")[0]
    assert said(f"{plain.ratio:.1f}:1") == []
    assert len(said(f"{plain.ratio + 2 * plain.ratio_standard + 0.12:.1f}:1")) == 1
