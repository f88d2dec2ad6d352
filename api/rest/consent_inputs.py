"""How is a consent told to the service, by the shop that took it down or by whoever gives it?

One set of members for every document that can be consented to; what only one kind of document has is added in its own file.

Source: what a record of a consent has to say, the union of the texts that `quotes/calc/consent` stands on; what an electronic
one has to say besides (an affirmed statement, a review step), 15 U.S.C. 7001(c)(1) and Uniform Electronic Transactions
Act s. 10.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request

from api.rest.fields import DayField, FlagField, InstantField, OneOfField, StrictSerializer, TextField
from quotes.actions.consents import Given, Giver
from quotes.calc.consent import ELECTRONIC, OLD_PARTS
from quotes.models.consent import MANNERS

Row = dict[str, Any]

LONGEST_WORDS = 2_000
HASH_DIGITS = 64
_SAID = ("parts_and_labour", "old_parts", "note")


class GivenInput(StrictSerializer):
    """A consent or a refusal that somebody of the shop took down."""

    manner = OneOfField(MANNERS)
    name = TextField(help_text="Who gave it. Kept apart from the record, and emptied when the customer is erased.")
    contact = TextField(
        required=False, allow_blank=True, default="", help_text="The number or address called; needed where it was oral."
    )
    at = InstantField(help_text="When it was given, with its zone; not before the document was there, not in the future.")
    note = TextField(
        max_length=LONGEST_WORDS,
        required=False,
        allow_blank=True,
        default="",
        help_text="Stays in the record for good: no names, no numbers of people.",
    )

    def validate(self, attrs: Row) -> Row:
        if attrs["manner"] == "oral" and not attrs["contact"]:
            words = "Expected the number or address called, since the consent was oral."
            raise ValidationError({"contact": [ErrorDetail(words, "required")]})
        return attrs


class ConsentInput(GivenInput):
    """A consent that somebody of the shop took down."""

    parts_and_labour = TextField(
        max_length=LONGEST_WORDS, required=False, allow_blank=True, default="", help_text="What was added, as it was told."
    )
    old_parts = OneOfField(
        OLD_PARTS, required=False, allow_null=True, default=None, help_text="What shall be done with parts that come off."
    )
    promised_on = DayField(
        required=False, allow_null=True, default=None, help_text="The day the coach is promised for; part of the consent."
    )
    statement = TextField(
        max_length=LONGEST_WORDS,
        required=False,
        allow_blank=True,
        default="",
        help_text="Of an electronic consent: the exact statement that was affirmed.",
    )
    reviewed = FlagField(
        required=False,
        default=False,
        help_text="Of an electronic consent: the whole document was shown for review before it was affirmed.",
    )

    def validate(self, attrs: Row) -> Row:
        attrs = super().validate(attrs)
        if attrs["manner"] != "electronic":
            return attrs
        faults = {}
        if not attrs["statement"]:
            faults["statement"] = [ErrorDetail("Expected the statement that was affirmed.", "not_affirmed")]
        if not attrs["reviewed"]:
            faults["reviewed"] = [ErrorDetail("Expected true: the document is reviewed before it is affirmed.", "not_affirmed")]
        if faults:
            raise ValidationError(faults)
        return attrs


class OwnerWordsInput(StrictSerializer):
    """What whoever opened a link says of themselves."""

    name = TextField(help_text="The name of whoever answers.")


class OwnerConsentInput(OwnerWordsInput):
    """An electronic consent by a link: affirmed, after the document was looked through."""

    old_parts = OneOfField(OLD_PARTS, required=False, allow_null=True, default=None)
    document_hash = TextField(max_length=HASH_DIGITS, help_text="Of the document as it was shown.")
    affirmed = FlagField(help_text="true: the statement that stands beside the document is affirmed.")
    reviewed = FlagField(help_text="true: the document was looked through before that.")

    def validate(self, attrs: Row) -> Row:
        words = {"affirmed": "Expected true: the statement is affirmed.", "reviewed": "Expected true: it was looked through."}
        faults = {name: [ErrorDetail(text, "not_affirmed")] for name, text in words.items() if not attrs[name]}
        if faults:
            raise ValidationError(faults)
        return attrs


def given_to_the_shop(values: Mapping[str, Any], payer: str) -> Given:
    """A consent or refusal that was taken down, from the values of a `GivenInput` or a `ConsentInput`."""
    said: Row = {name: values[name] for name in _SAID if values.get(name)}
    if values["manner"] == "electronic" and "statement" in values:
        said |= {"statement": values["statement"], "reviewed": values["reviewed"]}
    return Given(
        manner=values["manner"],
        at=values["at"],
        giver=Giver(name=values["name"], contact=values["contact"]),
        payer=payer,
        promised_on=values.get("promised_on"),
        said=said,
    )


def given_by_link(
    request: Request, values: Mapping[str, Any], *, payer: str, link_id: int, sent_how: str, now: datetime
) -> Given:
    """A consent or refusal that came by a link, with the address and agent it came from."""
    said: Row = {"link_sent": sent_how, **{name: values[name] for name in _SAID if values.get(name)}}
    if "affirmed" in values:
        said |= {"statement": ELECTRONIC, "reviewed": values["reviewed"]}
    giver = Giver(
        name=values["name"],
        address=str(request.META.get("REMOTE_ADDR", ""))[:64],
        agent=str(request.headers.get("User-Agent", ""))[:400],
    )
    return Given(
        manner="electronic", at=now, giver=giver, payer=payer, promised_on=None, said=said, link_id=link_id
    )  # fmt: skip
