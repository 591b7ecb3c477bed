"""Sliders and fields for a scenario's quantities; their bounds come from the scenario itself."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import ipywidgets as widgets

from oximetry_workbook.body.quantities import Choice, Quantity

Changed = Callable[[str, object], None]
Specs = Mapping[str, Quantity | Choice]


@dataclass(frozen=True, eq=False)
class Looks:
    """Layouts and styles that the controls of a panel share.

    A widget left to itself brings a layout and a style of its own: on the bench these were more
    than half of all widgets, and each costs a message and time to open the page.
    """

    plain: widgets.Layout = field(default_factory=widgets.Layout)
    filling: widgets.Layout = field(default_factory=lambda: widgets.Layout(width="auto"))
    number: widgets.Layout = field(default_factory=lambda: widgets.Layout(width="4.9rem"))
    described: widgets.Widget = field(default_factory=widgets.widget_description.DescriptionStyle)
    label: widgets.Widget = field(default_factory=widgets.widget_string.LabelStyle)
    html: widgets.Widget = field(default_factory=widgets.widget_string.HTMLStyle)
    slider: widgets.Widget = field(default_factory=widgets.SliderStyle)


class QuantityControl:
    """A slider and a number field for one numeric field of a panel's state.

    Attributes:
        widget: What to put on the page.
        slider: The slider, in the unit people speak of (fractions in percent).
        number: The number field beside it.
    """

    def __init__(self, name: str, spec: Quantity, changed: Changed, looks: Looks) -> None:
        self._name, self._spec, self._changed, self._looks = name, spec, changed, looks
        self._scale = 100.0 if spec.fraction else 1.0
        self._shown = self._scale * spec.low
        self._unanswered: set[int] = set()
        self.slider = self._make_slider()
        self.number = widgets.BoundedFloatText(
            min=self._scale * spec.low,
            max=self._scale * spec.high,
            step=self._step(),
            value=_rounded(self._shown),
            layout=looks.number,
            style=looks.described,
        )
        self.widget = self._arrange()
        self.slider.observe(self._slid, names="value")
        self.number.observe(self._typed, names="value")

    @property
    def unit(self) -> str:
        """Unit as shown."""
        return "%" if self._spec.fraction else self._spec.unit

    def show(self, state: object) -> None:
        """Bring slider and number to the state's value, where they differ from it."""
        self._shown = float(f"{self._scale * getattr(state, self._name):.10g}")
        self._settle()

    def _settle(self) -> None:
        notch = self._notch(self._shown)
        if self._notch(self.slider.value) != notch:
            if self._will_be_snapped(notch):
                self._unanswered.add(notch)
            self.slider.value = self._shown
        if self.number.value != _rounded(self._shown):
            self.number.value = _rounded(self._shown)

    def _notch(self, value: float) -> int:
        """Count the slider's steps from its lower end to the nearest one to a value."""
        place = math.log10(value) if self._spec.logarithmic else value
        return round((place - self.slider.min) / self.slider.step)

    def _will_be_snapped(self, notch: int) -> bool:
        """Whether the browser will answer the shown value with another one.

        On a logarithmic slider it always may, for its last digit.
        """
        if self._spec.logarithmic:
            return True
        return not math.isclose(self._shown, self.slider.min + notch * self.slider.step)

    def _slid(self, change: dict[str, float]) -> None:
        """Take a move of the slider, unless the browser only snaps a value it was given.

        It sends the nearest step back, late: by then the state may have gone on. Taken for a
        move, that would replace what somebody typed, or bring an earlier state back.
        """
        notch = self._notch(change["new"])
        if notch == self._notch(self._shown):
            return
        if notch in self._unanswered:
            self._unanswered.remove(notch)
            self._settle()
        else:
            self._unanswered.clear()
            self._set(_rounded(change["new"]))

    def _typed(self, change: dict[str, float]) -> None:
        if change["new"] != _rounded(self._shown):
            self._set(change["new"])

    def _set(self, value: float) -> None:
        self._changed(self._name, float(f"{value:.10g}") / self._scale)
        self._settle()  # a value that was refused must not stay on screen

    def _step(self) -> float:
        if self._spec.logarithmic:
            return 0.01
        return float(f"{self._scale * self._spec.step:.10g}")

    def _make_slider(self) -> widgets.Widget:
        low, high = self._scale * self._spec.low, self._scale * self._spec.high
        common = {
            "value": low,
            "readout": False,
            "continuous_update": True,
            "layout": self._looks.filling,
            "style": self._looks.slider,
        }
        if self._spec.logarithmic:
            ends = {"min": math.log10(low), "max": math.log10(high)}
            return widgets.FloatLogSlider(**ends, step=self._spec.step, **common)
        return widgets.FloatSlider(min=low, max=high, step=self._step(), **common)

    def _arrange(self) -> widgets.VBox:
        plain = self._looks.plain
        label = widgets.Label(self._spec.label, layout=plain, style=self._looks.label)
        unit = f'<span class="ow-unit">{self.unit}</span>'
        says_unit = widgets.HTML(unit, layout=plain, style=self._looks.html)
        top = widgets.HBox([label, self.number, says_unit], layout=plain)
        top.add_class("ow-control-top")
        box = widgets.VBox([top, self.slider])
        box.add_class("ow-control")
        return box


def _rounded(value: float) -> float:
    """Keep what a number field has room for: three significant digits."""
    return float(f"{value:.4g}") if value >= 100 else float(f"{value:.3g}")


class ChoiceControl:
    """A drop-down list for one field that holds a word.

    Attributes:
        widget: What to put on the page.
        dropdown: The list itself.
    """

    def __init__(self, name: str, spec: Choice, changed: Changed) -> None:
        self._name, self._changed = name, changed
        self.dropdown = widgets.Dropdown(options=[(o.capitalize(), o) for o in spec.options])
        self._shown = self.dropdown.value
        self.widget = labelled(spec.label, self.dropdown)
        self.dropdown.observe(self._chosen, names="value")

    def show(self, state: object) -> None:
        """Bring the list to the state's word."""
        self._shown = getattr(state, self._name)
        self.dropdown.value = self._shown

    def _chosen(self, change: dict[str, str]) -> None:
        if change["new"] != self._shown:
            self._changed(self._name, change["new"])
            self.dropdown.value = self._shown  # a word that was refused must not stay on screen


def labelled(label: str, field: widgets.Widget) -> widgets.VBox:
    """Put a label over a field."""
    field.layout.width = "auto"
    box = widgets.VBox([widgets.Label(label), field])
    box.add_class("ow-control")
    return box


class Controls(dict[str, QuantityControl | ChoiceControl]):
    """Controls by field name, each made when it is first asked for.

    A page opens sooner when what is folded away is not made before somebody looks at it.
    """

    def __init__(self, specs: Specs, changed: Changed, state: Callable[[], object]) -> None:
        """Make none yet.

        Args:
            specs: What there may be controls for.
            changed: Called with a field and its value.
            state: Gives the present state, for a control that is made later.
        """
        super().__init__()
        self._specs, self._changed, self._state, self._looks = specs, changed, state, Looks()

    def __missing__(self, name: str) -> QuantityControl | ChoiceControl:
        """Make a field's control and bring it to the present state."""
        made = self[name] = _control(name, self._specs[name], self._changed, self._looks)
        made.show(self._state())
        return made


def controls_for(specs: Specs, changed: Changed) -> dict[str, QuantityControl | ChoiceControl]:
    """Make the control that fits each field; `changed` is called with a field and its value."""
    looks = Looks()
    return {name: _control(name, spec, changed, looks) for name, spec in specs.items()}


def _control(
    name: str, spec: Quantity | Choice, changed: Changed, looks: Looks
) -> QuantityControl | ChoiceControl:
    if isinstance(spec, Quantity):
        return QuantityControl(name, spec, changed, looks)
    return ChoiceControl(name, spec, changed)
