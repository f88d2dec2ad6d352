"""Planned, bought, used: the materials of a job, with what differs."""

from typing import Any, ClassVar

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.entries import job_at
from api.rest.jobs import READERS
from api.rest.openapi import operation
from api.rest.quote_answers import COST_READERS
from quotes.actions.priced import shop_day
from quotes.calc.ledger import FLAGS
from quotes.models import LedgerEntry
from quotes.reports.job_goods import MatchedMaterial, matched_materials

Row = dict[str, Any]

_QUANTITIES = ("planned_packs", "planned_net", "planned", "bought", "issued", "returned", "used", "supplied", "left")
_COST = "For managers and analysts."


class PurchaseShape(serializers.Serializer[Any]):
    entry = serializers.IntegerField()
    day = serializers.DateField()
    supplier = serializers.CharField()
    invoice = serializers.CharField()
    invoice_line = serializers.IntegerField(allow_null=True)
    quantity = serializers.CharField()
    unit = serializers.CharField(help_text="pack, or the unit of use.")
    returnable = serializers.BooleanField()
    dearer = serializers.BooleanField(help_text="Its price passes the one that the job was sold on.")
    price = serializers.CharField(required=False, help_text=_COST)


class MatchedMaterialShape(serializers.Serializer[Any]):
    material = serializers.CharField()
    name = serializers.CharField()
    unit = serializers.CharField(help_text="The unit of use, in which all quantities but packs are.")
    pack = serializers.CharField()
    pack_size = serializers.CharField(help_text="In the unit of use.")
    frozen = serializers.BooleanField(help_text="Whether the job was sold on it; else it is as in force today.")
    planned_packs = serializers.CharField(help_text="Of the agreed line and of accepted change orders.")
    planned_net = serializers.CharField(help_text="Without waste.")
    planned = serializers.CharField(help_text="Of whole packs; of stock that is billed by use, net need with waste.")
    bought = serializers.CharField(help_text="By invoices for this job.")
    issued = serializers.CharField()
    returned = serializers.CharField()
    used = serializers.CharField()
    supplied = serializers.CharField(help_text="Bought, and issued from the shelf, less what went back.")
    left = serializers.CharField(help_text="Issued, and neither used nor returned.")
    flags = serializers.ListField(child=serializers.ChoiceField(choices=FLAGS))
    purchases = PurchaseShape(many=True)
    pack_price = serializers.CharField(required=False, allow_null=True, help_text=_COST)


class JobMaterialsShape(serializers.Serializer[Any]):
    materials = MatchedMaterialShape(many=True)


class JobMaterials(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_job_materials", "What was planned, bought and used of each material", answers={200: JobMaterialsShape})
    def get(self, request: Request, job_id: int) -> Response:
        """Flags name what differs: bought though nobody planned it, more than planned, dearer than the frozen price, one line
        of an invoice twice, issued and neither used nor returned, used without having been issued.
        """
        shop, role = self.context.shop, self.identity.role
        found = matched_materials(shop, job_at(self, job_id), shop_day(shop))
        return Response({"materials": [_shown(each, role) for each in found]})


def _shown(each: MatchedMaterial, role: str) -> Row:
    material, match = each.material, each.match
    shown: Row = {
        "material": material.slug,
        "name": material.name,
        "unit": material.unit,
        "pack": material.pack_name,
        "pack_size": str(material.pack_size),
        "frozen": each.frozen,
        **{name: _plain(getattr(match, name)) for name in _QUANTITIES},
        "flags": list(match.flags),
        "purchases": [_purchase(entry, role, dearer=entry.pk in match.dearer) for entry in each.invoices],
    }
    if role in COST_READERS:
        shown["pack_price"] = None if each.pack_price is None else str(each.pack_price)
    return shown


def _purchase(entry: LedgerEntry, role: str, *, dearer: bool) -> Row:
    shown: Row = {
        "entry": entry.pk,
        "day": entry.day.isoformat(),
        **{name: getattr(entry, name) for name in ("supplier", "invoice", "invoice_line", "unit", "returnable")},
        "quantity": str(entry.quantity),
        "dearer": dearer,
    }
    return {**shown, "price": str(entry.rate)} if role in COST_READERS else shown


def _plain(quantity: Any) -> str:
    # Sums of packs and of units of use have different numbers of decimals; none of them means anything.
    return f"{quantity.normalize():f}"
