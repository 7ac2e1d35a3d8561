"""What a number can be a number of, and which units a builder thinks in."""

from __future__ import annotations

from enum import StrEnum


class Dimension(StrEnum):
    """Kinds of quantity; the SI unit of each stands behind it.

    ROTATION is rad/s, and TEMPERATURE is an absolute temperature in K (typed in °C or °F), where
    TEMPERATURE_DIFFERENCE is an interval in K.
    """

    LENGTH = "length"  # m
    ANGLE = "angle"  # rad
    MASS = "mass"  # kg
    TIME = "time"  # s
    TEMPERATURE = "temperature"  # K
    TEMPERATURE_DIFFERENCE = "temperature difference"  # K
    EXPANSION = "expansion"  # 1/K
    FORCE = "force"  # N
    TORQUE = "torque"  # N·m
    PRESSURE = "pressure"  # Pa
    VOLUME = "volume"  # m³
    ROTATION = "rotational speed"  # rad/s
    UNBALANCE = "unbalance"  # kg·m
    RATIO = "ratio"  # 1
    VELOCITY = "velocity"  # m/s
    ACCELERATION = "acceleration"  # m/s²
    DENSITY = "density"  # kg/m³
    VISCOSITY = "dynamic viscosity"  # Pa·s
    KINEMATIC_VISCOSITY = "kinematic viscosity"  # m²/s
    INERTIA = "moment of inertia"  # kg·m²
    TORSIONAL_STIFFNESS = "torsional stiffness"  # N·m/rad
    TORSIONAL_DAMPING = "torsional damping"  # N·m·s/rad


class Units(StrEnum):
    """The units a builder thinks in; the other ones are always shown beside them."""

    METRIC = "metric"
    INCH = "inch"
