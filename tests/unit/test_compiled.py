"""Where compiled kernels are kept."""

import subprocess
import sys

from tests.engine_makers import six

from bedplate.engine import read_engine
from bedplate.physics import _compiled
from bedplate.shop.duty.check import duty_check, speeds_of
from bedplate.shop.duty.given import Given


def test_the_folder_is_named_by_the_sources(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "mine"))
    kernels = tmp_path / "physics"
    kernels.mkdir()
    (kernels / "_one_kernels.py").write_text("first", "utf-8")
    monkeypatch.setattr(_compiled, "__file__", str(kernels / "_compiled.py"))
    before = _compiled.cache_folder()
    assert before == _compiled.cache_folder()
    assert before.parent == tmp_path / "mine"
    (kernels / "_one_kernels.py").write_text("second", "utf-8")
    assert _compiled.cache_folder() != before


def test_a_folder_that_is_ours_already_is_taken_as_it_is(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    folder = _compiled.cache_folder()
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(folder))
    assert _compiled.cache_folder() == folder


def test_whether_the_first_call_will_wait(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert not _compiled.is_compiled()
    (_compiled.cache_folder() / "_cycle.integrate-1.py3.nbi").touch()
    assert not _compiled.is_compiled()
    (_compiled.cache_folder() / "_orbit_kernels.film_case-1.py3.nbi").touch()
    assert _compiled.is_compiled()


def test_a_folder_that_cannot_be_written(tmp_path, monkeypatch):
    # A file where the folder should be: the next place is taken, and nothing is said.
    (tmp_path / "blocked").write_text("", "utf-8")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "blocked"))
    assert tmp_path not in _compiled.cache_folder().parents


def test_films_are_imported_without_kernels():
    code = (
        "import sys; import bedplate.physics.film; "
        "print({'numba', 'scipy'} & {name.partition('.')[0] for name in sys.modules})"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def test_what_is_looked_for_is_what_the_check_leaves():
    given = Given(read_engine(six()))
    duty_check(given, speeds_of(given)[:1])
    assert _compiled.is_compiled()
