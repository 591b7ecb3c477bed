"""One situation, in physical quantities: what share links, scenes and notebooks carry."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field, fields, replace
from typing import Any

from oximetry_workbook.body.dyes import DYES
from oximetry_workbook.body.quantities import check_fields, choice, quantity, specs_of
from oximetry_workbook.body.varnish import VARNISHES

SCHEMA_VERSION = 1
"""Version of the JSON form; raised when a field is renamed, or changes its meaning or default."""

VENOUS_DIFFERENCE = 0.25
"""Arterial less venous saturation, as a fraction: 0.75 in mixed venous blood at rest
against almost 1 in arteries (common practice; a warm finger extracts less)."""


@dataclass(frozen=True)
class Scenario:
    """A person, a place on the body, a probe and a disturbance, in physical quantities.

    Every field is checked at construction. `replace` makes a changed copy, `to_json` and
    `from_json` carry it.

    Attributes:
        arterial_saturation: Functional SaO2, HbO2 / (HbO2 + HHb), as a fraction.
        perfusion_index_percent: Infrared peak-to-trough over mean [%], of the light that
            passed the tissue, while the vessels are open.
        vasoconstriction: How far the vessels of the skin are narrowed, 0 open to 1 as narrow as
            cold makes them; `sites.Site.constricted_share` says what of the pulse is left.
        heart_rate_bpm: Mean pulse rate over the recording [1/min].
        noise_percent: Root mean square of photon and electronic noise over the steady level [%]
            in ordinary tissue at this site. Less light makes it more, see `sensor.noise_scale`.
        site: Where the probe sits: finger and ear are shone through, forehead and wrist reflect.
        haemoglobin_g_per_l: Haemoglobin concentration of whole blood [g/L].
        carboxyhaemoglobin: COHb as a fraction of all haemoglobin.
        methaemoglobin: MetHb as a fraction of all haemoglobin.
        melanin_fraction: Volume fraction of melanosomes in the epidermis.
        thickness_scale: Distance between LED and detector, relative to the site's own. It and
            `scattering_scale` end where the ear lobe grows too thin for diffusion theory.
        blood_volume_scale: Resting blood in the tissue, relative to the site's own.
        scattering_scale: Reduced scattering of the tissue, relative to the site's own.
        ambient_light_percent: Room light left after the meter's own subtraction, over the
            steady infrared level [%]; part of it flickers at twice the mains frequency.
        mains_frequency_hz: Mains frequency [Hz].
        bypass_percent: Share of the infrared light at the detector that never met the pulsing
            tissue [%]; red's share follows, since both LEDs spill alike.
        motion_percent: Root mean square of the infrared swing made by venous blood that moves
            with the hand, over the steady level [%].
        coupling_percent: Root mean square of the swing of light, alike in both colours, made by
            a probe that shifts and lifts with the hand, over the steady level [%].
        venous_pulse: Infrared depth of a pulse of venous blood in step with the heart, over that
            of the arterial pulse, as a fraction.
        venous_difference: Arterial less venous saturation, as a fraction: what the tissue took.
        heart_rate_variability_percent: Rms of the beat interval around its mean that comes
            and goes with breathing, over the mean [%].
        irregularity_percent: Rms of the random part of the beat interval, over the mean [%].
        breathing_rate_bpm: Breaths per minute [1/min].
        red_peak_nm: Peak wavelength of the red LED [nm].
        infrared_peak_nm: Peak wavelength of the infrared LED [nm].
        led_temperature_c: Temperature of both LEDs [°C]; their peaks are stated at 25 °C.
        varnish: Colour of nail varnish in the way of the light; it lies on the finger alone.
        varnish_coats: How many coats of it.
        dye: Dye that was given into the blood.
        dye_mg_per_l: Its concentration in whole blood [mg/L].
        converter_bits: Resolution of the converter [bit].
        extinction_table: Which laboratory's haemoglobin spectra stand for nature.

    Raises:
        ValueError: The message names the field, what was given, and the allowed range and unit.
    """

    arterial_saturation: float = quantity(
        0.97, 0.40, 1.0, "", "Arterial saturation", 0.005, fraction=True
    )
    perfusion_index_percent: float = quantity(
        3.0, 0.05, 20.0, "%", "Perfusion index", 0.02, logarithmic=True
    )
    vasoconstriction: float = quantity(0.0, 0.0, 1.0, "", "Narrowed vessels", 0.01, fraction=True)
    heart_rate_bpm: float = quantity(72.0, 30.0, 220.0, "/min", "Heart rate", 1.0)
    noise_percent: float = quantity(0.02, 0.0, 1.0, "%", "Noise", 0.005)
    site: str = choice("Probe site", "finger", "ear", "forehead", "wrist")
    haemoglobin_g_per_l: float = quantity(150.0, 40.0, 220.0, "g/L", "Haemoglobin", 1.0)
    carboxyhaemoglobin: float = quantity(
        0.0, 0.0, 0.6, "", "Haemoglobin with CO", 0.01, fraction=True
    )
    methaemoglobin: float = quantity(0.0, 0.0, 0.6, "", "Methaemoglobin", 0.01, fraction=True)
    melanin_fraction: float = quantity(
        0.03, 0.0, 0.45, "", "Melanin in the epidermis", 0.01, fraction=True
    )
    thickness_scale: float = quantity(1.0, 0.7, 1.5, "", "Thickness, relative", 0.01)
    blood_volume_scale: float = quantity(1.0, 0.3, 3.0, "", "Blood volume, relative", 0.01)
    scattering_scale: float = quantity(1.0, 0.7, 2.0, "", "Scattering, relative", 0.01)
    ambient_light_percent: float = quantity(0.0, 0.0, 200.0, "%", "Ambient light", 1.0)
    mains_frequency_hz: float = quantity(50.0, 49.0, 61.0, "Hz", "Mains frequency", 0.1)
    bypass_percent: float = quantity(0.0, 0.0, 95.0, "%", "Light past the tissue", 1.0)
    motion_percent: float = quantity(0.0, 0.0, 20.0, "%", "Motion of venous blood", 0.1)
    coupling_percent: float = quantity(0.0, 0.0, 20.0, "%", "Motion of the probe", 0.1)
    venous_pulse: float = quantity(0.0, 0.0, 2.0, "", "Venous pulse", 0.01, fraction=True)
    venous_difference: float = quantity(
        VENOUS_DIFFERENCE, 0.0, 0.6, "", "Oxygen taken by the tissue", 0.01, fraction=True
    )
    heart_rate_variability_percent: float = quantity(
        2.0, 0.0, 15.0, "%", "Heart-rate variability", 0.5
    )
    irregularity_percent: float = quantity(0.0, 0.0, 35.0, "%", "Irregular rhythm", 1.0)
    breathing_rate_bpm: float = quantity(15.0, 4.0, 40.0, "/min", "Breathing rate", 1.0)
    red_peak_nm: float = quantity(660.0, 620.0, 700.0, "nm", "Red LED peak", 1.0)
    infrared_peak_nm: float = quantity(940.0, 860.0, 960.0, "nm", "Infrared LED peak", 1.0)
    led_temperature_c: float = quantity(25.0, 0.0, 60.0, "°C", "LED temperature", 1.0)
    varnish: str = choice("Nail varnish", *VARNISHES)
    varnish_coats: float = quantity(2.0, 0.0, 4.0, "", "Coats of varnish", 1.0, whole=True)
    dye: str = choice("Dye in the blood", *DYES)
    dye_mg_per_l: float = quantity(5.0, 0.0, 80.0, "mg/L", "Dye", 0.5)
    converter_bits: float = quantity(
        18.0, 6.0, 24.0, "bit", "Converter resolution", 1.0, whole=True
    )
    extinction_table: str = choice("Haemoglobin spectra", "Prahl", "Zijlstra")

    def __post_init__(self) -> None:
        check_fields(self)
        bound = self.carboxyhaemoglobin + self.methaemoglobin
        if bound > 0.9 + 1e-9:  # such sums are rounded: 0.34 + 0.56 comes out above 0.9
            raise ValueError(
                f"carboxyhaemoglobin and methaemoglobin add up to {bound:g}; "
                "together they may be at most 0.9, so that some haemoglobin is left for oxygen"
            )

    def replace(self, **changes: object) -> Scenario:
        """Return a copy with some fields changed.

        Raises:
            ValueError: For an unknown field or a value out of range.
        """
        _refuse_unknown(changes)
        return replace(self, **changes)  # type: ignore[arg-type]  # checked in __post_init__

    def changes(self) -> dict[str, float | str]:
        """Return the fields that differ from an ordinary scenario's, with their values."""
        return {
            each.name: getattr(self, each.name)
            for each in fields(self)
            if getattr(self, each.name) != each.default
        }

    def to_json(self) -> str:
        """Return the scenario as JSON text with its schema version."""
        return json.dumps({"schema": SCHEMA_VERSION, **asdict(self)})

    @classmethod
    def from_json(cls, text: str) -> Scenario:
        """Read what `to_json` wrote; fields that are left out keep their defaults.

        Raises:
            ValueError: When the text is no JSON object, comes from a newer version, has an
                unknown field, or holds a value out of range.
        """
        try:
            content = json.loads(text)
        except (TypeError, ValueError, RecursionError):
            raise ValueError("the scenario is not readable JSON text") from None
        return cls.from_mapping(content)

    @classmethod
    def from_mapping(cls, content: object) -> Scenario:
        """Make a scenario of a JSON object that was read already, its schema version among it.

        Raises:
            ValueError: As `from_json` does.
        """
        if not isinstance(content, dict):
            raise ValueError("the scenario must be a JSON object with named fields")
        content = dict(content)
        schema = content.pop("schema", None)
        if isinstance(schema, bool) or schema != SCHEMA_VERSION:
            raise ValueError(
                f"schema is {schema!r}; this version reads {SCHEMA_VERSION}. "
                "Update the workbook, or make the scenario anew"
            )
        _refuse_unknown(content)
        return cls(**content)


def _refuse_unknown(names: dict[str, object]) -> None:
    unknown = sorted(set(names) - set(SPECS))
    if unknown:
        raise ValueError(f"unknown field {unknown[0]!r}; the fields are {', '.join(SPECS)}")


SPECS = specs_of(Scenario)
"""Range and words of every field, by field name."""


def as_in_scenario(name: str) -> Any:
    """Declare a field of another dataclass with a scenario's default, range and words for it."""
    return field(default=getattr(Scenario(), name), metadata={"spec": SPECS[name]})
