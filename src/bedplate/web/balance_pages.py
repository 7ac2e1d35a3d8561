"""Pages of balance and torsion, and what they write."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from bedplate.web.deeds import Deeds, back
from bedplate.web.intake import Sent, deed
from bedplate.web.pages import Pages, as_pdf
from bedplate.web.render import page

if TYPE_CHECKING:
    from bedplate.workshop import Workshop

TAB = "balance"


def balancing(workshop: Workshop) -> list[BaseRoute]:
    """Return the routes of these pages and of what they write."""
    build, pages, deeds = "/builds/{build}", BalancePages(workshop), BalanceDeeds(workshop)
    does = {
        "weights": deeds.weigh,
        "balance/card": deeds.card,
        "balance/part": deeds.part,
        "balance/close": deeds.close,
        "torsion/measured": deeds.torsion,
    }
    return [
        Route(f"{build}/balance", pages.balance),
        Route(f"{build}/torsion", pages.torsion),
        Route(f"{build}/bobweight.pdf", pages.card),
        *(Route(f"{build}/{end}", deed(do), methods=["POST"]) for end, do in does.items()),
    ]


class BalancePages(Pages):
    """Balance and torsion, to look at."""

    def balance(self, request: Request) -> Response:
        """Show throws, masses, vectors and the ledger."""
        from bedplate.web.views.balance import balance_view
        from bedplate.web.views.rotors import ASKED, answer_of

        state, typed = self._state(request), request.query_params
        ask = {name: typed.get(name, "").strip()[:200] for name in ASKED}
        return page(
            request, "balance.html", state=state, view=balance_view(state), tab=TAB, ask=ask,
            answer=answer_of(state, ask),
        )  # fmt: skip

    def torsion(self, request: Request) -> Response:
        """Show critical speeds and twist."""
        from bedplate.web.views.balance import torsion_view

        state = self._state(request)
        return page(request, "torsion.html", state=state, view=torsion_view(state), tab=TAB)

    def card(self, request: Request) -> Response:
        """Give the bob-weight card, to print."""
        build = self._state(request).build
        return as_pdf(self._workshop.balance_card(build), f"{build}-bobweight.pdf")


class BalanceDeeds(Deeds):
    """What the page of balance writes."""

    def weigh(self, sent: Sent) -> Response:
        """Take a weight."""
        receipt = self._workshop.weigh(
            sent.build, sent["part"], sent["weight"].strip(), by=sent.by, number=sent["number"],
            uncertainty=sent["uncertainty"], scale=sent["scale"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, back(sent, f"/builds/{sent.build}/balance#weights"))

    def card(self, sent: Sent) -> Response:
        """Take in the balancer's card."""
        receipt = self._workshop.take_balance_card(
            sent.build, sent["shop"], sent["residual"].splitlines(), by=sent.by,
            lines=sent["lines"].splitlines(), bob_weight=sent["bob_weight"], mass=sent["mass"],
            speed=sent["speed"], grade=sent["grade"],
            on_crank=[
                f"{part}: {sent[f'mark of {part}']}" for part in sent.lists.get("on_crank", ())
            ],
            machine=sent["machine"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{sent.build}/balance")

    def part(self, sent: Sent) -> Response:
        """Say how a part stands."""
        receipt = self._workshop.turning_part(
            sent.build, sent["part"], sent["standing"], by=sent.by, identity=sent["identity"],
            residual=sent["residual"], reason=sent["reason"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{sent.build}/balance")

    def torsion(self, sent: Sent) -> Response:
        """Take what was measured in torsion."""
        receipt = self._workshop.torsion_measured(
            sent.build, sent["what"], sent["value"].strip(), by=sent.by,
            instrument=sent["instrument"], uncertainty=sent["uncertainty"], id=sent["id"],
        )  # fmt: skip
        return self._done(sent, receipt, f"/builds/{sent.build}/torsion")

    def close(self, sent: Sent) -> Response:
        """Call it balanced."""
        receipt = self._workshop.close_balance(
            sent.build, sent["statement"], by=sent.by, id=sent["id"]
        )
        return self._done(sent, receipt, f"/builds/{sent.build}/balance")
