"""Commands of the duty check: volumes, the check itself, and the film of one bearing."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from bedplate.cli.options import Adder, data_given, opened, read_text, units, value
from bedplate.errors import InputError, NotFoundError

if TYPE_CHECKING:
    from concurrent.futures import Executor
    from pathlib import Path

    from bedplate.quantity import Units
    from bedplate.shop.duty.bearings import Choice
    from bedplate.shop.duty.check import DutyCheck
    from bedplate.shop.duty.films import FilmAt
    from bedplate.shop.duty.given import Given
    from bedplate.shop.duty.study import FilmStudy
    from bedplate.shop.duty.volumes import CylinderVolumes

FIRING = "angle of the trace at which firing top dead centre lies: '360 deg'"
PEGGED = "what a trace that is not absolute is pegged to: '1.0 bar' about bottom dead centre"
_WHAT = "an engine file (nominal sizes and tolerances), or a build (what was measured)"


def add_commands(add: Adder) -> None:
    """Add the commands of this family."""
    duty = add(
        "duty",
        _duty,
        "check an engine at its speeds: loads, oil films, ratings, what is unknown",
        "An estimate for comparing choices, never a release.",
    )
    duty.add_argument("what", metavar="WHAT", help=_WHAT)
    duty.add_argument("--sources", action="store_true", help="where every figure comes from")
    duty.add_argument("--hot", action="store_true", help="fits at running temperature")
    _add_cluster(duty)
    _add_choice(duty)

    film = add(
        "film",
        _film,
        "the oil film of one bearing: at its speeds, against clearance, or as a distribution",
        "An estimate for comparing choices, never a release.",
    )
    film.add_argument("what", metavar="WHAT", help=_WHAT)
    film.add_argument(
        "bearing", nargs="?", default="", metavar="BEARING", help="'main-2' or 'rod-5'"
    )
    film.add_argument(
        "--against-clearance", action="store_true", help="film over a range of clearance"
    )
    film.add_argument("--against-oil", action="store_true", help="film with other oils")
    film.add_argument(
        "--against-temperature",
        action="store_true",
        help="film over a range of the oil's temperature",
    )
    _add_cluster(film)
    film.add_argument("--cases", type=int, metavar="N", help="Monte Carlo with so many cases")
    film.add_argument("--seed", type=int, default=1, metavar="N", help="of the Monte Carlo")
    _add_choice(film)

    volumes = add("volumes", _volumes, "volumes, compression ratio and squish of each cylinder")
    volumes.add_argument("what", metavar="WHAT", help=_WHAT)


def _add_cluster(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--cluster",
        default="",
        metavar="ADDRESS",
        help="look at the films on a Dask cluster: 'tcp://10.0.0.5:8786' (extra [cluster])",
    )


def _add_choice(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--speed", action="append", default=[], metavar="SPEED", help="'6500 rpm'; may be repeated"
    )
    command.add_argument(
        "--trace",
        default="",
        metavar="FILE.csv",
        help="cylinder pressure measured, for every speed: 'angle deg,pressure bar', then points",
    )
    command.add_argument(
        "--firing",
        default="",
        type=value,
        metavar="ANGLE",
        help=FIRING,
    )
    command.add_argument(
        "--pegged-to",
        default="",
        type=value,
        metavar="PRESSURE",
        help=PEGGED,
    )
    command.add_argument("--oil", default="", metavar="GRADE", help="another SAE grade: '10W-40'")
    command.add_argument(
        "--wider",
        default="",
        metavar="LENGTH",
        help="added to every clearance: '0.01 mm'; below zero takes away",
    )


def _given(arguments: argparse.Namespace) -> Given:
    """Return what to start from: a build of that name, else an engine file."""
    return with_trace(_found(arguments), arguments)


def with_trace(given: Given, arguments: argparse.Namespace) -> Given:
    """Return the same with a measured trace in the place of the computed pressure."""
    if not getattr(arguments, "trace", ""):
        return given
    from bedplate.engine.traces import MeasuredTrace, read_points
    from bedplate.quantity import Dimension, parse

    firing = parse(arguments.firing, Dimension.ANGLE).value if arguments.firing else 0.0
    pegged = parse(arguments.pegged_to, Dimension.PRESSURE).value if arguments.pegged_to else None
    points = read_points(read_text(arguments.trace))
    return given.with_trace(
        MeasuredTrace(points, None, "", firing, pegged, source=f"the file {arguments.trace}")
    )


def _found(arguments: argparse.Namespace) -> Given:
    from pathlib import Path

    from bedplate.workshop import check
    from bedplate.workshop.duty import given_of

    name = arguments.what
    if name == "-" or name.endswith(".toml") or Path(name).is_file():
        return given_of(check(read_text(name), "standard input" if name == "-" else name))
    with opened(arguments) as workshop:
        return workshop.given(name)


def _choice(arguments: argparse.Namespace) -> tuple[tuple[float, ...], Choice]:
    from bedplate.quantity import Dimension, parse
    from bedplate.shop.duty.bearings import Choice

    speeds = tuple(sorted(_speed(value(text)) for text in arguments.speed))
    wider = parse(value(arguments.wider), Dimension.LENGTH).value if arguments.wider else 0.0
    return speeds, Choice(oil=arguments.oil, clearance=wider)


def _speed(text: str) -> float:
    from bedplate.engine.duty import GREATEST_SPEED
    from bedplate.quantity import Dimension, parse

    speed = parse(text, Dimension.ROTATION).value
    if not 0 < speed <= GREATEST_SPEED:
        raise InputError(f"'{text[:40]}' is no speed of an engine.", hint="Such as '6500 rpm'.")
    return speed


def say_if_compiling() -> None:
    """Tell the user that the kernels are compiled now, once for this version and machine."""
    from bedplate.physics._compiled import is_compiled

    if not is_compiled():
        print(
            "Compiling the kernels for this machine, once; this takes about a minute.",
            file=sys.stderr,
        )


def _checked(arguments: argparse.Namespace) -> tuple[DutyCheck, Given]:
    from bedplate.shop.duty.check import duty_check

    given = _given(arguments)
    say_if_compiling()
    speeds, choice = _choice(arguments)
    with _executor(arguments) as executor:
        found = duty_check(
            given,
            speeds,
            choice,
            _progress if executor is not None and sys.stderr.isatty() else None,
            units=units(arguments, given.engine.units),
            executor=executor,
            folder=_study_folder(arguments) if executor is not None else None,
        )
    return found, given


def _duty(arguments: argparse.Namespace) -> int:
    check, given = _checked(arguments)
    shown = units(arguments, given.engine.units)
    if arguments.json:
        from bedplate.cli.output import print_json
        from bedplate.documents.duty_json import duty_as_dict

        print_json(duty_as_dict(check))
        return 0
    mark = "" if "(invented)" in check.name or not check.invented else " (invented)"
    measured = "as measured" if given.state is not None else "nominal sizes, nothing measured"
    print(f"{check.name}{mark}: duty check, {measured}.")
    print(check.words)
    print()
    _print_items(check, shown)
    for note in check.pressure_notes:
        print(f"- {note}")
    print()
    _print_films(check)
    for row in check.rows:
        if row.why:
            print(f"- {row.why}")
    if check.lead:
        print()
        print(check.lead)
    _print_unknown(check)
    if arguments.hot:
        _print_hot(check, shown)
    if arguments.sources:
        _print_sources(check)
    return 0


def _print_items(check: DutyCheck, shown: Units) -> None:
    from bedplate.cli.output import print_table

    titles = ["quantity", *(f"{row.rpm:.0f} rpm" for row in check.rows), "rated", ""]
    rows = []
    for place, item in enumerate(check.rows[0].items):
        if item.name == "engine speed" and item.rating is None:
            continue
        each = [row.items[place] for row in check.rows]
        beyond = [one.standing.name == "BEYOND" for one in each]
        state = "beyond its rating" if any(beyond) else ""
        rows.append(
            [item.name, *(one.words(shown) for one in each), item.rating_words(shown), state]
        )
    known = ["how pressure is known", *(row.pressure_words for row in check.rows), "", ""]
    place = next((n for n, row in enumerate(rows) if row[0] == "cylinder pressure"), len(rows))
    rows.insert(place + 1, known)
    print_table(titles, rows, right=range(1, len(check.rows) + 1))


def _print_films(check: DutyCheck) -> None:
    from bedplate.cli.output import print_table

    if not check.rows[0].films:
        return
    titles = ["least film, µm", *(f"{row.rpm:.0f} rpm" for row in check.rows)]
    rows = [
        [one.bearing.name, *(_film_cell(row.films[place]) for row in check.rows)]
        for place, one in enumerate(check.rows[0].films)
    ]
    print_table(titles, rows, right=range(1, len(check.rows) + 1))
    print()


def _film_cell(one: FilmAt) -> str:
    return f"{one.film.least_film * 1e6:.2f}" if one.holds else one.film.state


def _print_unknown(check: DutyCheck) -> None:
    if check.unknown:
        print()
        print("Unknown:")
        for sentence in check.unknown:
            print(f"- {sentence}")


def _print_hot(check: DutyCheck, shown: Units) -> None:
    from bedplate.cli.output import length, print_table
    from bedplate.shop.duty.heat import alike

    print()
    rows = [
        (name, length(fit.cold.value, shown, 1e-6), length(fit.hot, shown, 1e-6),
         length(2 * fit.standard, shown, 1e-6), fit.cold.how.value, fit.warm(shown),
         fit.says(shown))
        for name, fit in alike(check.hot, shown)
    ]  # fmt: skip
    titles = ("at running temperature", "at 20 °C", "hot", "U", "", "temperatures", "")
    print_table(titles, rows, right=(1, 2, 3))
    if check.hot:
        print("U without that of the temperatures, which nobody measured.")


def _print_sources(check: DutyCheck) -> None:
    from bedplate.cli.output import print_table

    print()
    rows = [(what, found.how.value, found.source) for what, found in check.sources]
    rows += [(item.name, "computed", item.source) for row in check.rows for item in row.items]
    print_table(("figure", "", "from"), list(dict.fromkeys(rows)))


def _volumes(arguments: argparse.Namespace) -> int:
    from bedplate.cli.output import length, print_json, print_table
    from bedplate.shop.duty.items import step_words
    from bedplate.shop.duty.volumes import squish_words, volumes

    given = _given(arguments)
    found = volumes(given)
    shown = units(arguments, given.engine.units)
    if arguments.json:
        from bedplate.documents.duty_json import volumes_as_dict

        print_json(volumes_as_dict(found))
        return 0
    print(f"{given.engine.name}: {found.displacement * 1e6:.1f} cm³ in all.")
    terms = ("chamber", "gasket", "deck", "dish", "dome", "crevice")
    titles = ("cylinder", "swept", *terms, "clearance", "ratio", "U", "effective", "squish")
    rows = [_volume_row(one, terms, length(one.squish, shown)) for one in found.by_ratio]
    print("Volumes in cm³; a dome and a piston above the deck take away.")
    print_table(titles, rows, right=range(1, len(titles)))
    _print_spread(found.by_ratio)
    first = found.cylinders[0]
    step, many = step_words(shown)
    steps = ", ".join(f"{name} {change * many:+.4f}" for name, change in first.per_step)
    print(f"{step} changes the ratio of cylinder {first.label}: {steps}.")
    print(f"One cm³ more of chamber, dish or crevice: {first.per_volume:+.3f}.")
    print(squish_words(found, shown))
    for sentence in found.unknown:
        print(f"- {sentence}")
    return 0


def _print_spread(by_ratio: tuple[CylinderVolumes, ...]) -> None:
    low, high = by_ratio[0], by_ratio[-1]
    print(
        f"Lowest {low.ratio:.3f} in cylinder {low.label}, highest {high.ratio:.3f} in cylinder"
        f" {high.label}: {high.ratio - low.ratio:.3f} apart."
    )


def _volume_row(one: CylinderVolumes, terms: tuple[str, ...], squish: str) -> tuple[str, ...]:
    each = [f"{getattr(one.terms, term) * 1e6 + 0.0:.2f}" for term in terms]
    effective = f"{one.effective:.2f}" if one.effective is not None else "unknown"
    return (
        one.label, f"{one.swept * 1e6:.2f}", *each, f"{one.clearance * 1e6:.2f}",
        f"{one.ratio:.3f}", f"{2 * one.ratio_standard:.3f}", effective, squish,
    )  # fmt: skip


def _film(arguments: argparse.Namespace) -> int:
    from bedplate.shop.duty.bearings import film_bearings
    from bedplate.shop.duty.check import speeds_of
    from bedplate.shop.duty.study import film_study

    given = _given(arguments)
    speeds, choice = _choice(arguments)
    names = [one.id for one in film_bearings(given, choice)]
    if arguments.bearing and arguments.bearing not in names:
        sentence = f"There is no bearing '{arguments.bearing[:40]}'."
        raise NotFoundError(sentence, hint=f"There are {', '.join(names)}.")
    cases = arguments.cases or 0
    if arguments.cases is not None and not 1 <= cases <= 1_000_000:
        raise InputError(f"--cases {cases} cannot be drawn; give 1 to 1000000.")
    say_if_compiling()
    kept = _study_folder(arguments) if cases or arguments.cluster else None
    try:
        with _executor(arguments) as executor:
            study = film_study(
                given,
                arguments.bearing,
                speeds or speeds_of(given),
                choice,
                cases=cases,
                seed=arguments.seed,
                executor=executor,
                folder=kept,
                progress=_progress if sys.stderr.isatty() else None,
                band=arguments.against_clearance or bool(cases),
            )
            _print_study(study, arguments, units(arguments, given.engine.units))
            if not arguments.json:
                _print_others(given, study, choice, arguments, executor)
    except KeyboardInterrupt:
        if kept is not None:
            said = "Stopped. What is done is kept, and the same command goes on from there."
            print(said, file=sys.stderr)
        raise
    return 0


@contextmanager
def _executor(arguments: argparse.Namespace) -> Iterator[Executor | None]:
    """Open what runs the cases: a cluster that was named, else processes of this machine."""
    if not arguments.cluster:
        yield None
        return
    from importlib import import_module

    try:
        cluster = import_module("distributed")
    except ImportError as error:
        raise InputError(
            "This installation knows no cluster.", hint="Install the extra: bedplate[cluster]."
        ) from error
    try:
        client = cluster.Client(arguments.cluster, timeout=10)
    except (OSError, ValueError) as error:
        raise InputError(f"No cluster answers at {arguments.cluster[:80]}.") from error
    try:
        yield client.get_executor()
    finally:
        client.close()


def _print_others(
    given: Given,
    study: FilmStudy,
    choice: Choice,
    arguments: argparse.Namespace,
    executor: Executor | None,
) -> None:
    from math import pi

    from bedplate.cli.output import print_table
    from bedplate.shop.duty.bearings import COMPARED
    from bedplate.shop.duty.study import film_by_oil, film_by_temperature

    shown = units(arguments, given.engine.units)
    rpm = f"{study.worst * 30 / pi:.0f} rpm"
    if arguments.against_oil:
        print()
        found = film_by_oil(given, study.least, COMPARED, choice, executor=executor)
        rows = [(grade, *_short(one, shown)) for grade, one in found]
        print_table((f"oil, at {rpm}", "least film", "film"), rows, right=(1, 2))
    if arguments.against_temperature:
        print()
        warm = study.bearing.bearing.supply.temperature
        steps = [warm + step for step in range(-30, 31, 10)]
        by_warmth = film_by_temperature(given, study.least, steps, choice, executor=executor)
        rows = [(_warm(kelvin, shown), *_short(one, shown)) for kelvin, one in by_warmth]
        print_table((f"oil supplied at, {rpm}", "least film", "film"), rows, right=(1, 2))


def _short(one: FilmAt, shown: Units) -> tuple[str, str]:
    if not one.holds:
        return one.film.state, "–"
    return f"{one.film.least_film * 1e6:.2f} µm", _warm(one.film.film_temperature, shown)


def _warm(kelvin: float, shown: Units) -> str:
    """Return a temperature to a degree, which is more than the film is known to."""
    from bedplate.quantity import Dimension, show

    return show(kelvin, Dimension.TEMPERATURE, shown, uncertainty=10.0)


def _study_folder(arguments: argparse.Namespace) -> Path:
    """Return where what a study found is kept: going on costs nothing."""
    from bedplate.workshop import data_folder

    return data_folder(data_given(arguments)) / "studies"


def _progress(done: int, of: int) -> None:
    """Draw a bar on the terminal."""
    width = 30
    full = round(width * done / of) if of else width
    end = "\n" if done == of else ""
    bar = "█" * full + "·" * (width - full)
    print(f"\r{bar} {done} of {of}", end=end, file=sys.stderr, flush=True)


def _print_study(study: FilmStudy, arguments: argparse.Namespace, shown: Units) -> None:
    from math import pi

    from bedplate.cli.output import length, print_json, print_table
    from bedplate.shop.duty.reasons import reached_words
    from bedplate.shop.duty.telling import ends_words

    if arguments.json:
        from bedplate.documents.duty_json import study_as_dict

        print_json(study_as_dict(study))
        return
    clearance = study.bearing.clearance
    measured = length(clearance.value, shown, clearance.standard or 1e-6)
    print(f"{study.bearing.name}: clearance {measured}, {clearance.source}.")
    print("An estimate for comparing choices, never a release.")
    print()
    hot = "clearance in film" if study.bearing.is_warmed else "clearance cold"
    titles = ("speed", "least film", "peak pressure", "film", hot, "flow", "loss",
              "film/roughness")  # fmt: skip
    rows = [_study_row(speed, one, shown) for speed, one in study.rows]
    print_table(titles, rows, right=range(1, len(titles)))
    for speed, one in study.rows:
        reached = reached_words(one.film, shown) if not one.holds else ""
        if reached:
            print(f"- At {speed * 30 / pi:.0f} rpm {reached}.")
    for words in ends_words(study.rows, shown):
        print(f"- {words}")
    if study.band is not None:
        _print_band(study, arguments, shown)
    if study.spread is not None:
        _print_spread_of_film(study, shown)


def _study_row(speed: float, one: FilmAt, shown: Units) -> tuple[str, ...]:
    from math import isnan, pi

    from bedplate.cli.output import NOTHING, length
    from bedplate.quantity import Dimension
    from bedplate.shop.duty.items import amount, flow_words, power_words

    film = one.film
    rpm = f"{speed * 30 / pi:.0f} rpm"
    if not one.holds:
        return (rpm, film.state, *(NOTHING,) * 6)
    return (
        rpm,
        f"{film.least_film * 1e6:.2f} µm",
        amount(film.peak_pressure, Dimension.PRESSURE, shown),
        _warm(film.film_temperature, shown),
        length(film.clearance, shown, 1e-6),
        flow_words(film.flow, shown),
        power_words(film.power_loss, shown),
        NOTHING if isnan(film.film_ratio) else f"{film.film_ratio:.1f}",
    )


def _print_band(study: FilmStudy, arguments: argparse.Namespace, shown: Units) -> None:
    from math import pi

    from bedplate.cli.output import length, print_table
    from bedplate.physics.film import STATES
    from bedplate.shop.duty.telling import band_words

    band = study.band
    if band is None:
        return
    print()
    print(f"Clearance at {study.worst * 30 / pi:.0f} rpm. {band_words(band, shown)}")
    if arguments.against_clearance:
        every = zip(band.clearance, band.cases.least_film, band.cases.state.tolist(), strict=True)
        rows = [
            (
                length(float(clearance), shown, 1e-6),
                STATES[state] if state else f"{film * 1e6:.2f} µm",
            )
            for clearance, film, state in every
        ]
        print_table(("clearance", "least film"), rows, right=(0, 1))


def _print_spread_of_film(study: FilmStudy, shown: Units) -> None:
    from bedplate.shop.duty.telling import doubt_words, spread_words

    if study.spread is None:
        return
    print()
    print(spread_words(study.spread))
    print(doubt_words(study.spread.doubt, shown))
