"""Who can pay, for which reasons, and how is a part of the quote given to somebody?

Payers have labels of their own, and rules speak of slugs, sections and phases, never of positions: a draft that is priced again
keeps both. The first rule that fits decides; what no rule speaks of is the owner's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError, raise_faults

OWNER = "owner"
KINDS = (OWNER, "insurer", "warranty", "fleet")
# Only these pay what is left after a part that the owner bears.
WITH_DEDUCTIBLE = frozenset({"insurer", "warranty"})

NOT_SAID = "not-said"
# Why a piece of work is needed, in the words of the papers.
CAUSES = {
    NOT_SAID: "no cause was said",
    "storm": "storm, hail or wind",
    "impact": "impact: a branch, a low bridge, a thing that fell",
    "fire": "fire or heat",
    "failed-seal": "water from a seal that failed",
    "wear": "wear and age",
    "maintenance": "maintenance that was due",
    "earlier-repair": "an earlier repair",
    "defect": "a defect of material or workmanship",
    "recall": "a recall or a maker's notice",
    "improvement": "an improvement that the owner wants",
}

# What a rule may speak of. "everything" is every line of labour and material and every hidden component.
SUBJECTS = ("assembly", "component", "section", "phase", "line", "everything")


class PayerError(CalculationError):
    """A payer or a rule that cannot be meant so."""

    code = "bad_payer"


@dataclass(frozen=True, slots=True)
class Payer:
    """Somebody who pays. `deductible` is the part of this payer's total that the owner bears; 0 where there is none."""

    label: str
    kind: str
    deductible: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Rule:
    """Gives what it speaks of to a payer, with the cause.

    `of` is the slug of an assembly, component or phase, the label of a section, or the slug of a line; "" for everything.
    `trade` is that of a labour line, "" for a line of another kind or for all trades of an assembly.
    """

    by: str
    of: str
    trade: str
    payer: str
    cause: str

    def words(self) -> str:
        """What it speaks of, for people."""
        return self.by if self.by == "everything" else f"{self.by} {self.of}{f', {self.trade}' if self.trade else ''}"


def check_parties(payers: Sequence[Payer], rules: Sequence[Rule]) -> None:
    """Refuses payers and rules that contradict themselves, each fault at its place.

    Raises:
        PayerError, CalculationFaults: labels that stand twice, an owner under another label or another payer under the owner's,
            a deductible of a payer that has none, a rule about an unknown payer or subject.
    """
    faults: list[CalculationError] = []
    labels = [payer.label for payer in payers]
    for at, payer in enumerate(payers):
        faults += _payer_faults(payer, f"payers/{at}", labels[:at])
    known = {OWNER, *labels}
    for at, rule in enumerate(rules):
        faults += _rule_faults(rule, f"rules/{at}", known)
    raise_faults(faults)


def _payer_faults(payer: Payer, place: str, earlier: Sequence[str]) -> list[CalculationError]:
    faults: list[CalculationError] = []
    if payer.label in earlier:
        faults.append(PayerError(f"expected labels that differ; '{payer.label}' stands twice", field=f"{place}/label"))
    if payer.kind not in KINDS:
        faults.append(PayerError(f"expected one of {', '.join(KINDS)}, not {payer.kind!r}", field=f"{place}/kind"))
    if (payer.kind == OWNER) != (payer.label == OWNER):
        words = f"expected the label '{OWNER}' for the owner and for nobody else, not '{payer.label}' for kind {payer.kind}"
        faults.append(PayerError(words, field=f"{place}/label", value=payer.label))
    if payer.deductible < 0 or (payer.deductible and payer.kind not in WITH_DEDUCTIBLE):
        words = f"expected a deductible of 0 or more, and of an {' or '.join(sorted(WITH_DEDUCTIBLE))} only"
        faults.append(PayerError(words, field=f"{place}/deductible", value=payer.deductible))
    return faults


def _rule_faults(rule: Rule, place: str, known: set[str]) -> list[CalculationError]:
    faults: list[CalculationError] = []
    if rule.by not in SUBJECTS:
        faults.append(PayerError(f"expected one of {', '.join(SUBJECTS)}, not {rule.by!r}", field=f"{place}/by"))
    elif (rule.by == "everything") != (rule.of == ""):
        words = "expected nothing in 'of' for everything" if rule.of else f"expected in 'of' which {rule.by} is meant"
        faults.append(PayerError(words, field=f"{place}/of", value=rule.of))
    if rule.trade and rule.by not in ("assembly", "line"):
        words = f"expected no trade: a rule by {rule.by} speaks of all of them"
        faults.append(PayerError(words, field=f"{place}/trade", value=rule.trade))
    if rule.payer not in known:
        words = f"expected the label of a payer ({', '.join(sorted(known))}), not {rule.payer!r}"
        faults.append(PayerError(words, field=f"{place}/payer", value=rule.payer))
    if rule.cause not in CAUSES:
        faults.append(PayerError(f"expected one of {', '.join(CAUSES)}, not {rule.cause!r}", field=f"{place}/cause"))
    return faults


def with_owner(payers: Sequence[Payer]) -> tuple[Payer, ...]:
    """The payers in the order in which they are answered: the owner first, said or not."""
    owner = next((payer for payer in payers if payer.kind == OWNER), Payer(OWNER, OWNER))
    return (owner, *(payer for payer in payers if payer.kind != OWNER))
