"""Where compiled kernels are kept, and the one door through which they are made.

Numba keeps a cached caller although a callee in another file has changed. So a kernel and all its
callees stand in one file, and the folder of the cache is named by a hash of every kernel file:
an edited kernel is never met by an old one. The folder is set before Numba is imported, because
Numba reads it once; without it a read-only installation could not be imported at all.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")
_REORDER = {"contract", "reassoc", "nsz", "arcp"}
"""Sums may be taken in another order; NaN and infinity stay what they are."""
_OUTERMOST = ("_cycle.integrate", "_orbit_kernels.film_case")
"""Kernels that the duty check calls by itself, the pressure and the film."""


def cache_folder() -> Path:
    """Return the folder of compiled kernels, named by a hash of their place and sources."""
    # The place too: Numba keeps the kernels of one installation apart from those of another.
    digest = hashlib.sha256(os.fsencode(Path(__file__).parent))
    for source in sorted(Path(__file__).parent.glob("_*.py")):
        digest.update(source.read_bytes())
    name = f"compiled-{digest.hexdigest()[:16]}"
    from platformdirs import user_cache_path

    own = (user_cache_path("bedplate"), Path(tempfile.gettempdir(), "bedplate"))
    given = os.environ.get("NUMBA_CACHE_DIR")
    for base in (*([Path(given)] if given else []), *own):
        if base.name == name:
            return base
        folder = base / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return Path(tempfile.mkdtemp(prefix="bedplate-"))


def is_compiled() -> bool:
    """Return whether the duty check was compiled here before; if not, the first call waits.

    A kernel is kept when all it calls are, so the outermost ones tell; others may lie there alone.
    """
    folder = cache_folder()
    return all(any(folder.rglob(f"{outermost}-*.nbi")) for outermost in _OUTERMOST)


def _numba() -> Any:  # noqa: ANN401  # Numba ships no types
    folder = str(cache_folder())
    os.environ["NUMBA_CACHE_DIR"] = folder
    import numba

    # Someone else may have imported it before.
    vars(numba.config)["CACHE_DIR"] = folder
    return numba


_NUMBA = _numba()


def kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function when it is first called, and keep it for the next process.

    It lets other threads run meanwhile: cases are shared between threads of ours, since Numba's
    own may not be asked from two threads at once, as a page's handlers do. Nothing is reordered:
    a kernel stands in the code of each of its callers too, which copy runs depends on what this
    process has compiled, and all of them must give the same bits.
    """
    made: Callable[P, R] = _NUMBA.njit(cache=True, error_model="numpy", nogil=True)(function)
    return made


def reordered_kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile as `kernel` does, but for speed and not for the same last bit in every process."""
    made: Callable[P, R] = _NUMBA.njit(
        cache=True, fastmath=_REORDER, error_model="numpy", nogil=True
    )(function)
    return made
