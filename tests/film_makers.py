"""Films for the tests: cases of which only state and film matter, and rod 1 of the straight six."""

from dataclasses import fields
from math import pi

import numpy as np
from tests.engine_makers import six

from bedplate.engine import read_engine
from bedplate.physics.film import STATES, FilmCases
from bedplate.shop.duty.bearings import Choice, film_bearings, loads_at
from bedplate.shop.duty.films import film_at
from bedplate.shop.duty.gas import pressure_at
from bedplate.shop.duty.given import Given
from bedplate.shop.duty.train import crank_train

RPM = pi / 30


def rod(changes=(), rpm=7200, choice=None):
    """Return what is given, rod 1 and its film."""
    given = Given(read_engine(six(*changes)))
    bearing = next(b for b in film_bearings(given, choice or Choice()) if b.id == "rod-1")
    traces = pressure_at(given, rpm * RPM).traces
    _, loads, _ = loads_at(given, crank_train(given), traces, rpm * RPM)
    return given, bearing, film_at(bearing, loads["rod-1"])


SUPPLY = 'temperature = "105 °C"  '


def cases(*rows):
    """Return cases of which only state and film matter: ('settled', µm)."""
    names = [field.name for field in fields(FilmCases)]
    columns = {name: np.zeros(len(rows)) for name in names}
    columns["state"] = np.array([STATES.index(state) for state, _ in rows])
    columns["least_film"] = np.array([film for _, film in rows], dtype=float)
    return FilmCases(**columns)


NAN = float("nan")
BROKEN, HOT = ("film breaks down", NAN), ("beyond the oil's data", NAN)


def settled(*films):
    return [("settled", film) for film in films]
