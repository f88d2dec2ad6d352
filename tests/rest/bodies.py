"""Bodies of requests that are taken; a test says only what matters to it. All of it is invented."""

from typing import Any

Body = dict[str, Any]


def customer(**changes: Any) -> Body:
    return {
        "kind": "person",
        "name": "Invented Owner",
        "contacts": [{"kind": "email", "value": "owner@example.org"}, {"kind": "phone", "value": "555 0100"}],
        "authorisers": [{"name": "Invented Spouse", "contact": "555 0101"}],
        "note": "Prefers the morning.",
        **changes,
    }


def opening(label: str, kind: str = "vent", **changes: Any) -> Body:
    return {
        "label": label,
        "kind": kind,
        "station": "60 in",
        "offset": "48 in",
        "length": "17 in",
        "width": "17 in",
        **changes,
    }


def section(**changes: Any) -> Body:
    """The 34 ft laminated section that the trade facts work with."""
    return {
        "label": "main",
        "kind": "main",
        "construction": "laminated",
        "old_skin": "frp",
        "deck": "lauan_5_2mm",
        "length": "34 ft",
        "body_width": "96 in",
        "crown_rise": "1-1/2 in",
        "edge_radius": "4 in",
        "edge_sweep": "90 deg",
        "tuck": "1.5 in",
        "core_thickness": "2.5 in",
        "rafter_spacing": "16 in",
        "openings": [opening("vent 1"), opening("vent 2", station="15 ft")],
        "attachments": [{"kind": "ladder", "count": 1, "feet": 4}],
        "captive_nuts": 24,
        "wiring_runs": 6,
        **changes,
    }


def roof(*sections: Body, joints: list[Body] | None = None) -> Body:
    return {"sections": list(sections or (section(),)), "joints": joints or []}


def coach(**changes: Any) -> Body:
    return {
        "label": "Invented 34 footer",
        "plate": "INV 0001",
        "serial_number": "",
        "year": 2004,
        "gross_weight_rating": "22000 lb",
        "roof": roof(),
        **changes,
    }


def cell(code: str, condition: str = "soft", **changes: Any) -> Body:
    return {"section": "main", "cell": code, "condition": condition, "method": "walked", **changes}


def survey(coach_id: int, **changes: Any) -> Body:
    return {
        "coach": coach_id,
        "method": "walked",
        "made_on": "2026-03-02",
        "cells": [cell("1A", "sound"), cell("3D")],
        "strips": [{"section": "main", "side": "driver", "index": 4, "condition": "damp", "method": "metered"}],
        "rings": [
            {
                "section": "main",
                "opening": "vent 1",
                "condition": "sound",
                "method": "opened",
                "backing": "missing",
            }
        ],
        "findings": [
            {"kind": "soft_underfoot", "place": "cell 3D", "section": "main", "extent": "3/16 in", "note": "on a board"}
        ],
        "repairs": [{"kind": "coating", "section": "main", "chemistry": "acrylic", "share": 0.4}],
        "readings": [],
        **changes,
    }
