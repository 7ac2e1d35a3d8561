"""Use cases of the duty check: of an engine file alone, or of a build as it was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bedplate.workshop.core import Core

if TYPE_CHECKING:
    from bedplate.engine import Engine
    from bedplate.shop.duty.given import Given


def given_of(engine: Engine) -> Given:
    """Return what a duty check starts from where there is an engine file and no build."""
    from bedplate.shop.duty.given import Given

    return Given(engine)


class Duty(Core):
    """What a duty check starts from where there is a build."""

    def given(self, build: str) -> Given:
        """Return the engine file of a build with what was measured.

        :raises NotFoundError: there is no such build
        """
        from bedplate.shop.duty.given import Given

        state = self.state(build)
        return Given(state.engine, state)
