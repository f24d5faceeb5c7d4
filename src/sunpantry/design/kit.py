"""With what: the parts that are fixed already. Whatever is left out is chosen.

A part is named from the list (``part = "…"``), or described by the figures on its
label, written in the same table. ``part = "none"`` says that there shall be none.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import (
    BaseModel,
    Field,
    GetJsonSchemaHandler,
    SerializerFunctionWrapHandler,
    model_serializer,
    model_validator,
)
from pydantic_core import CoreSchema

from sunpantry.design.keys import (
    Choice,
    Count,
    Flag,
    Groups,
    Name,
    Reader,
    Section,
    human_key,
    written,
)
from sunpantry.design.moments import MomentText
from sunpantry.design.nameplates import (
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    PanelNameplate,
)
from sunpantry.units import Quantity, SquareCentimetres, parse_quantity

NONE = "none"
BANK_VOLTAGES = (5.0, 12.0, 24.0, 48.0)
# What 'best' is best for; alone it leaves the choice to the search, for the promise.
BEST = ("best", "best for the promise", "best for the year", "best for the darkest month")
COMPASS: dict[str, float | str] = {
    **{word: word for word in BEST},
    "north": 0.0,
    "north-east": 45.0,
    "east": 90.0,
    "south-east": 135.0,
    "south": 180.0,
    "south-west": 225.0,
    "west": 270.0,
    "north-west": 315.0,
}
Tilt = Annotated[
    float | str,
    Choice("°", {word: word for word in BEST}, at_least=0.0, at_most=90.0),
    written("°"),
]
SeasonTilt = Annotated[float, Quantity("°", at_least=0, at_most=90), written("°")]
Azimuth = Annotated[float | str, Choice("°", COMPASS, at_least=0.0, at_most=360.0), written("°")]


def _read_owned(raw: object) -> int | str:
    if raw is True or raw == "all":
        return "all"
    if raw is False:
        return 0
    if isinstance(raw, int) and 0 <= raw <= 1000:
        return raw
    raise ValueError("neither a count nor true or false")


Owned = Annotated[
    int | str,
    Reader(
        _read_owned,
        "how many of them are already there: a whole number, or true for all",
        {"type": ["integer", "boolean", "string"]},
    ),
]


def _read_bank_voltage(raw: object) -> float:
    if not isinstance(raw, str | int | float):
        raise ValueError("not a quantity")  # noqa: TRY004  (the reader turns it into one sentence)
    volts = parse_quantity(raw, "V")
    if volts not in BANK_VOLTAGES:
        raise ValueError("no such bank")
    return volts


BankVoltage = Annotated[
    float,
    Reader(
        _read_bank_voltage,
        '"5 V", "12 V", "24 V" or "48 V"',
        {"type": ["string", "number"]},
    ),
    written("V"),
]


def voltage_class(volts: float) -> float | None:
    """System class of a voltage: 12.8 V is a 12 V thing.

    Parameters
    ----------
    volts : float
        Nominal or regulated voltage [V].

    Returns
    -------
    float or None
        5, 12, 24 or 48 V; None when it is none of these.
    """
    for class_v in BANK_VOLTAGES:
        if 0.9 * class_v <= volts <= 1.2 * class_v:
            return class_v
    return None


def own_keys(model: type[BaseModel]) -> dict[str, str]:
    """Every spelling of a key that a model takes, and the attribute it fills.

    Parameters
    ----------
    model : type
        A table of the document, or a nameplate.

    Returns
    -------
    dict
        Key -> attribute.
    """
    keys = {}
    for name, field in model.model_fields.items():
        keys[name] = name
        keys[str(field.validation_alias or human_key(name))] = name
    return keys


class PartChoice(Section):
    """A part named from the list, or described by its label in the same table."""

    role: ClassVar[str]

    part: Name | None = Field(default=None, description='a name from the parts list, or "none"')
    label: Any = None

    @classmethod
    def label_type(cls) -> type[BaseModel]:
        """The nameplate that describes this kind of part."""
        found: type[BaseModel] = next(
            one for one in get_args(cls.model_fields["label"].annotation) if one is not type(None)
        )
        return found

    @model_validator(mode="before")
    @classmethod
    def _gather(cls, raw: Any) -> Any:
        if not isinstance(raw, dict) or "label" in raw:
            return raw
        mine, theirs = own_keys(cls), own_keys(cls.label_type())
        label = {key: value for key, value in raw.items() if key not in mine and key in theirs}
        if not label:
            return raw
        rest = {key: value for key, value in raw.items() if key not in label}
        return {**rest, "label": {"name": f"own {cls.role}", **label}}

    @model_serializer(mode="wrap")
    def _scatter(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        whole: dict[str, Any] = handler(self)
        label = whole.pop("label", None)
        return {**whole, **label} if isinstance(label, dict) else whole

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        whole = handler.resolve_ref_schema(handler(schema))
        whole.get("properties", {}).pop("label", None)
        label = cls.label_type().model_json_schema()
        properties = {**label["properties"], **whole.get("properties", {})}
        return {**whole, "properties": properties}

    @property
    def is_none(self) -> bool:
        """The person wants no such part."""
        return self.part == NONE


class ArrayChoice(PartChoice):
    """Equal panels facing one way."""

    role: ClassVar[str] = "panel"

    label: PanelNameplate | None = None
    count: Count | None = None
    series: Count | None = None
    parallel: Count | None = None
    owned: Owned = 0
    tilt_deg: Tilt = Field(default="best", description="0° flat, 90° upright, or best")
    tilt_winter_deg: SeasonTilt | None = Field(
        default=None, description="October to March, in the south April to September"
    )
    tilt_summer_deg: SeasonTilt | None = Field(
        default=None, description="the other half of the year"
    )
    azimuth_deg: Azimuth = Field(default="best", description="compass direction faced")
    mounting: Literal["ground", "roof", "wall", "pole", "carried"] = "ground"
    shaded_groups: Groups = Field(
        default=0,
        description="groups of cells of each panel, with a bypass diode each, that stand in shade "
        "whenever the sun shines, as under a ledge; shade that moves belongs to the site",
    )


class BatteryChoice(PartChoice):
    """The battery bank."""

    role: ClassVar[str] = "battery"

    label: BatteryNameplate | None = None
    count: Count | None = None
    series: Count | None = None
    parallel: Count | None = None
    owned: Owned = 0
    housing: Literal["shed", "house", "buried", "outdoors"] = "shed"
    vent_opening_cm2: SquareCentimetres | None = Field(
        default=None, description="opening to the outside air, low down and again near the top"
    )


class ControllerChoice(PartChoice):
    """The charge controller, or several equal ones."""

    role: ClassVar[str] = "controller"

    label: ControllerNameplate | None = None
    count: Count | None = None
    owned: Flag = False
    loads_fed_from: Literal["either", "load output"] = Field(
        default="either",
        description="either: the DC loads hang on the load terminals if these carry them, else "
        "on the battery; load output: on the load terminals in any case",
    )


class InverterChoice(PartChoice):
    """The inverter and the habit of switching it off."""

    role: ClassVar[str] = "inverter"

    label: InverterNameplate | None = None
    owned: Flag = False
    fed_from: Literal["battery", "load output"] = "battery"
    off_when_idle: Flag = Field(default=False, description="switched off when nothing needs it")
    from_: MomentText | None = Field(default=None, description="switched on at this hour")
    until: MomentText | None = Field(default=None, description="switched off at this hour")


class ConverterChoice(PartChoice):
    """A DC converter or USB adaptor."""

    role: ClassVar[str] = "converter"

    label: ConverterNameplate | None = None
    count: Count = 1
    owned: Flag = False
