"""Roofs of invented coaches for the tests of the core, in inches and pounds as a person says them."""

from dataclasses import replace

from quotes.calc.geometry import Attachment, Joint, Opening, Roof, Section, Span

INCH = 254.0
FOOT = 3048.0
POUND = 45_359_237.0


def opening(
    label: str,
    kind: str = "vent",
    *,
    station_in: float = 100.0,
    offset_in: float = 48.0,
    length_in: float = 17.0,
    width_in: float = 17.0,
    pounds: float = 0.0,
) -> Opening:
    return Opening(label, kind, station_in * INCH, offset_in * INCH, length_in * INCH, width_in * INCH, pounds * POUND)


def air_conditioner(label: str, station_in: float, offset_in: float = 48.0) -> Opening:
    unit = opening(label, "air_conditioner", station_in=station_in, offset_in=offset_in, pounds=95.0)
    return replace(unit, length=14.25 * INCH, width=14.25 * INCH)


def sized(label: str, kind: str, station_in: float, offset_in: float, size_in: tuple[float, float]) -> Opening:
    """An opening of a given flange size, along and across the coach."""
    length_in, width_in = size_in
    return opening(label, kind, station_in=station_in, offset_in=offset_in, length_in=length_in, width_in=width_in)


def attachment(kind: str, count: int = 1, *, feet: int = 0, station_in: float | None = None) -> Attachment:
    return Attachment(kind, count, feet, None if station_in is None else station_in * INCH)


def section(
    label: str = "main",
    *,
    kind: str = "main",
    construction: str = "laminated",
    old_skin: str = "frp",
    deck: str = "lauan_5_2mm",
    length_in: float = 408.0,
    width_in: float = 96.0,
    crown_in: float = 1.5,
    radius_in: float = 4.0,
    sweep: float = 90.0,
    tuck_in: float = 1.5,
    core_in: float = 2.5,
    rafters_in: float = 16.0,
    openings: tuple[Opening, ...] = (),
    attachments: tuple[Attachment, ...] = (),
    captive_nuts: int = 0,
    wiring_runs: int = 0,
) -> Section:
    return Section(
        label,
        kind,
        construction,
        old_skin,
        deck,
        length_in * INCH,
        width_in * INCH,
        crown_in * INCH,
        radius_in * INCH,
        sweep,
        tuck_in * INCH,
        core_in * INCH,
        rafters_in * INCH,
        openings,
        attachments,
        captive_nuts,
        wiring_runs,
    )


def slide_room(label: str = "slide", *, length_in: float = 144.0, depth_in: float = 36.0) -> Section:
    return section(
        label,
        kind="slide_room",
        construction="framed",
        old_skin="epdm",
        deck="plywood_3_8in",
        length_in=length_in,
        width_in=depth_in,
        crown_in=0.0,
        radius_in=0.0,
        tuck_in=0.0,
        core_in=0.0,
    )


def roof(*sections: Section, joints: tuple[Joint, ...] = ()) -> Roof:
    return Roof(sections, joints)


def span(label: str = "main", start_in: float = 0.0, end_in: float = 408.0) -> Span:
    return Span(label, start_in * INCH, end_in * INCH)


def common_openings() -> tuple[Opening, ...]:
    """Three vents, a skylight, a refrigerator vent, two stacks: flanges of 68, 104, 68, 18.85 in."""
    return (
        opening("vent 1", station_in=60.0),
        opening("vent 2", station_in=180.0),
        opening("vent 3", station_in=250.0),
        opening("skylight", "skylight", station_in=215.0, offset_in=60.0, length_in=30.0, width_in=22.0),
        opening("fridge vent", "fridge_vent", station_in=150.0, offset_in=20.0, length_in=24.0, width_in=10.0),
        opening("stack 1", "stack", station_in=230.0, offset_in=24.0, length_in=6.0, width_in=6.0),
        opening("stack 2", "stack", station_in=300.0, offset_in=24.0, length_in=6.0, width_in=6.0),
    )


def laminated_34_ft() -> Roof:
    """A 34 ft roof on a foam core under glass laminate, 96 in wide, with all that such roofs carry."""
    return roof(
        section(
            openings=(
                air_conditioner("front unit", 110.0),
                air_conditioner("rear unit", 330.0),
                *common_openings(),
            ),
            attachments=(
                attachment("antenna", station_in=130.0),
                attachment("cable_entry", station_in=280.0),
                attachment("ladder", feet=4, station_in=400.0),
                attachment("solar_panel", 2, feet=8, station_in=200.0),
                attachment("awning"),
                attachment("slide_topper", 2),
                attachment("marker_light", 7),
            ),
            captive_nuts=24,
            wiring_runs=6,
        )
    )


def framed_28_ft() -> Roof:
    """A 28 ft roof on rafters under a membrane, 98 in wide with small edge radii."""
    return roof(
        section(
            construction="framed",
            old_skin="epdm",
            deck="plywood_3_8in",
            length_in=336.0,
            width_in=98.0,
            radius_in=2.0,
            core_in=0.0,
            openings=(air_conditioner("roof unit", 110.0), *common_openings()),
            attachments=(
                attachment("antenna", station_in=130.0),
                attachment("ladder", feet=4, station_in=330.0),
                attachment("awning"),
                attachment("slide_topper"),
                attachment("marker_light", 5),
            ),
            captive_nuts=12,
            wiring_runs=4,
        )
    )
