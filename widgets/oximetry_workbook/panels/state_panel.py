"""The frame that chapters' panels share: a state, its controls at the side, views beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Protocol

import ipywidgets as widgets
import traitlets

from oximetry_workbook.body.quantities import specs_of
from oximetry_workbook.panels import look
from oximetry_workbook.panels.controls import controls_for
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.share import Share


class View(Protocol):
    """Something that draws a state."""

    widget: widgets.Widget

    def show(self, state: Any) -> None:
        """Draw a state."""


class StateModel(traitlets.HasTraits):
    """A panel's state: one trait, written by the controls and read by the views."""

    state = traitlets.Any()

    def set(self, name: str, value: object) -> None:
        """Change one field.

        Raises:
            ValueError: For a value out of range; the state stays as it was.
        """
        self.state = replace(self.state, **{name: value})


class StatePanel:
    """A panel made of a frozen dataclass with `quantity` fields and views that draw it.

    Attributes:
        model: Its state.
        controls: Controls by field name.
        views: What draws the state.
        share: How the state is taken along.
        widget: What to put on the page.
    """

    def __init__(
        self,
        state: Any,
        make_views: Callable[[Notice], Sequence[View]],
        shown_fields: Sequence[str] | None = None,
    ) -> None:
        self._first = state
        self.model, self.notice = StateModel(state=state), Notice()
        specs = specs_of(state)
        chosen = {name: specs[name] for name in (shown_fields or specs)}
        self.controls = controls_for(chosen, self.notice.guard(self.model.set))
        self.views = tuple(make_views(self.notice))
        self.share = Share(state, self.open, self.notice)
        self.widget = self._arrange()
        self._show()
        self.model.observe(self._show, names="state")

    def reset(self, _: object = None) -> None:
        """Go back to the state the panel started with."""
        self.model.state = self._first

    def open(self, state: Any) -> None:
        """Go to a state that came from elsewhere."""
        self.model.state = state

    def _show(self, _: object = None) -> None:
        for view in (*self.views, *self.controls.values(), self.share):
            view.show(self.model.state)

    def _arrange(self) -> widgets.VBox:
        reset = widgets.Button(description="Reset")
        reset.on_click(self.notice.guard(self.reset))
        actions = widgets.HBox([reset, self.share.toggle])
        actions.add_class("ow-actions")
        controls = widgets.VBox([each.widget for each in self.controls.values()])
        controls.add_class("ow-controls")
        side = widgets.VBox([controls, actions, self.share.box, self.share.address])
        side.add_class("ow-side")
        shown = widgets.Box([view.widget for view in self.views])
        shown.add_class("ow-plots")
        shown.add_class("ow-shown")
        body = widgets.Box([side, shown])
        body.add_class("ow-bench-body")
        panel = widgets.VBox([look.style(), self.notice, body])
        panel.add_class("ow-panel")
        return panel
