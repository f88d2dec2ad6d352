"""The tables of the cost base. Applications further out import them from here."""

from costbase.models.edition import NetworkEdition, ShopEdition
from costbase.models.imports import NetworkImport, NetworkImportRow, ShopImport, ShopImportRow
from costbase.models.run import Run, RunChunk
from costbase.models.shop import Network, Shop
from costbase.models.tables import NetworkOwned, NetworkRows, ShopOwned, ShopRows, tracked, tracked_without

__all__ = [
    "Network",
    "NetworkEdition",
    "NetworkImport",
    "NetworkImportRow",
    "NetworkOwned",
    "NetworkRows",
    "Run",
    "RunChunk",
    "Shop",
    "ShopEdition",
    "ShopImport",
    "ShopImportRow",
    "ShopOwned",
    "ShopRows",
    "tracked",
    "tracked_without",
]
