"""The value type of the `uncertainties` library, loaded without NumPy.

The library takes NumPy in wherever it is installed, to know its scalars as constants. Nothing here
hands it an array, and NumPy is three quarters of the time that it takes to load.
"""

from __future__ import annotations

import sys

if "numpy" in sys.modules:
    from uncertainties.core import AffineScalarFunc, LinearCombination, Variable
else:
    # A None in sys.modules makes an import fail: Python reference, 5.3.1, "The module cache".
    sys.modules["numpy"] = None  # type: ignore[assignment]
    try:
        from uncertainties.core import AffineScalarFunc, LinearCombination, Variable
    finally:
        del sys.modules["numpy"]

__all__ = ["AffineScalarFunc", "LinearCombination", "Variable"]
