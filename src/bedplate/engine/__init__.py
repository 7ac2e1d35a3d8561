"""The engine as it is meant: layout, features, fits, materials, and the file that says so."""

from bedplate.engine.fasteners import (
    AssemblyRules,
    Doing,
    Fastener,
    Hole,
    OwnStep,
    Plan,
    Sealant,
    Stage,
)
from bedplate.engine.features import FEATURE_KINDS, RESTS_ON, STATION_AXES, FeatureKind, Per, Shape
from bedplate.engine.fits import FIT_KINDS, WAYS_BY_NAME, FitForm, FitKind, Gate, Way
from bedplate.engine.materials import KNOWN_MATERIALS
from bedplate.engine.model import (
    CapStyle,
    Cylinder,
    Engine,
    Feature,
    Fit,
    Layout,
    Limit,
    Material,
    Measuring,
    Station,
)
from bedplate.engine.read import read_engine, read_engine_bytes
from bedplate.engine.shipped import examples
from bedplate.engine.structure import schema

__all__ = [
    "FEATURE_KINDS",
    "FIT_KINDS",
    "KNOWN_MATERIALS",
    "RESTS_ON",
    "STATION_AXES",
    "WAYS_BY_NAME",
    "AssemblyRules",
    "CapStyle",
    "Cylinder",
    "Doing",
    "Engine",
    "Fastener",
    "Feature",
    "FeatureKind",
    "Fit",
    "FitForm",
    "FitKind",
    "Gate",
    "Hole",
    "Layout",
    "Limit",
    "Material",
    "Measuring",
    "OwnStep",
    "Per",
    "Plan",
    "Sealant",
    "Shape",
    "Stage",
    "Station",
    "Way",
    "examples",
    "read_engine",
    "read_engine_bytes",
    "schema",
]
