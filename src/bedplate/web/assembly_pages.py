"""The pages of assembly, tightening and fasteners, and the clamp calculator."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from bedplate.errors import BedplateError, NotFoundError
from bedplate.shop.tightening.runs import joints
from bedplate.web.pages import Pages
from bedplate.web.render import page


class AssemblyPages(Pages):
    """The pages of the person who puts the engine together."""

    def assembly(self, request: Request) -> Response:
        """Show the assembly run, one step opened."""
        from bedplate.web.views.assembly import assembly_view

        state = self._state(request)
        view = assembly_view(state, request.query_params.get("step", ""))
        return page(request, "assembly.html", state=state, view=view, tab="assembly")

    def tightening(self, request: Request) -> Response:
        """Show one run bolt by bolt, or the list of joints."""
        from bedplate.web.views.tightening import joints_view, run_view

        state, asked = self._state(request), request.query_params
        number = asked.get("run", "")
        if not number:
            view = joints_view(state, asked.get("plan", ""), asked.get("joint", ""))
            return page(request, "tightening.html", state=state, view=view, tab="tightening")
        runs = {str(run.number): run for j in joints(state).values() for run in j.runs}
        if number not in runs:
            sentence = f"No tightening run began with entry {number[:20]}."
            raise NotFoundError(sentence, hint="The page of tightening lists the joints.")
        return page(
            request, "run.html", state=state, view=run_view(state, runs[number]), tab="tightening"
        )

    def fasteners(self, request: Request) -> Response:
        """Show the life of each bolt."""
        from bedplate.web.views.assembly import fasteners_view

        state = self._state(request)
        return page(
            request, "fasteners.html", state=state, groups=fasteners_view(state), tab="tightening"
        )

    def clamp(self, request: Request) -> Response:
        """Answer what a tightening makes of a bolt; no build is needed."""
        from bedplate.web.views.clamp import clamp_view

        asked, error, view = dict(request.query_params), None, None
        if asked.get("thread"):
            try:
                view = clamp_view(asked)
            except BedplateError as refused:
                error = refused
        return page(request, "clamp.html", view=view, asked=asked, error=error)

    def plan_sheet(self, request: Request) -> Response:
        """Give the tightening plan with boxes, to print."""
        from bedplate.web.pages import as_pdf

        build = self._state(request).build
        return as_pdf(self._workshop.tightening_sheet(build), f"{build}-tightening.pdf")
