"""Which error codes may a client meet, with which status, and what do they mean?

Codes are stable: a client may branch on them, words may change. The table is complete; a test compares it
with every code that the sources can raise, and `GET /api/problems/{code}` answers from it.
"""

from dataclasses import dataclass
from http import HTTPStatus


@dataclass(frozen=True, slots=True)
class ErrorCode:
    """A code's HTTP status and its meaning in a sentence.

    Codes that only ever stand in the list `errors` of a document have the status of the document that lists
    them.
    """

    status: int
    meaning: str

    @property
    def title(self) -> str:
        """The words of the status, the same for every occurrence of the code."""
        return HTTPStatus(self.status).phrase


_REQUEST = {
    "bad_request": (400, "The request could not be read."),
    "invalid_json": (400, "The body is not JSON as it is accepted here."),
    "bad_syntax": (400, "The body breaks the grammar of JSON."),
    "not_utf8": (400, "The body is not encoded in UTF-8."),
    "too_deep": (400, "Lists and objects are nested deeper than 50 levels."),
    "duplicate_key": (400, "An object names the same member twice."),
    "bad_number": (400, "A number is not finite, or has more digits than anything here is measured with."),
    "bad_text": (400, "A text holds a character that no text may hold (NUL or half of a surrogate pair)."),
    "body_missing": (400, "A body was expected and there is none."),
    "not_an_object": (400, "The body must be a JSON object."),
    "bad_parameter": (400, "A query parameter has a value that was not expected."),
    "unknown_parameter": (400, "The address has a query parameter that this resource does not know."),
    "bad_cursor": (400, "The cursor was not made by this list; start again without it."),
    "bad_header": (400, "A header has a value that was not expected."),
    "token_missing": (401, "The header 'Authorization: Bearer ...' is missing."),
    "token_malformed": (401, "The token has not the form of a token."),
    "token_unknown": (401, "There is no such token."),
    "token_expired": (401, "The token has expired."),
    "token_revoked": (401, "The token was revoked, or its person no longer has the role."),
    "forbidden": (403, "This is not allowed."),
    "role_not_allowed": (403, "The role of the token may not do this."),
    "not_found": (404, "There is nothing at this address for this token."),
    "method_not_allowed": (405, "The resource does not know this method."),
    "not_acceptable": (406, "Only JSON can be answered."),
    "length_required": (411, "A body needs the header Content-Length."),
    "version_mismatch": (412, "The thing was changed since it was read; read it again."),
    "body_too_large": (413, "The body is larger than this resource takes."),
    "unsupported_media_type": (415, "The body is of another media type or encoding than this resource takes."),
    "if_match_missing": (428, "A change needs the header If-Match with the ETag that was read."),
    "too_many_requests": (429, "There were too many requests; wait and try again."),
    "internal_error": (500, "Something went wrong on the server; nothing was kept."),
}
_WRITES = {
    "already_there": (409, "Something of the same name or number is there already."),
    "in_use": (409, "Other things refer to it, so it cannot go."),
    "busy": (409, "Another request holds the same thing; try again in a moment."),
    "twin_at_work": (409, "The same request is still at work; try again in a moment."),
    "idempotency_mismatch": (422, "The Idempotency-Key was used before with another request."),
    "survey_locked": (409, "A quote was issued on this survey, so it no longer changes; make a new one."),
    "other_shop": (422, "It refers to something that is not in this shop."),
    "survey_no_longer_fits": (409, "A survey without an issued quote has marks where the new roof has none."),
    "retired": (409, "It was retired; nothing new refers to it."),
    "run_over": (409, "The run is over, so it can no longer be cancelled."),
    "already_erased": (409, "The customer's data was erased, so nothing is left to change."),
}
_SHAPE = {
    "invalid_input": (422, "The body is JSON but does not fit; `errors` lists every place."),
    "several_faults": (422, "Several things are wrong; `errors` lists every place."),
    "invalid": (422, "The value is not what was expected."),
    "required": (422, "The member is missing."),
    "null": (422, "The member may not be null."),
    "blank": (422, "The text may not be empty."),
    "unknown_field": (422, "The object has a member that is not known."),
    "not_object": (422, "A JSON object was expected."),
    "not_a_list": (422, "A list was expected."),
    "not_text": (422, "A text was expected."),
    "not_whole": (422, "A whole number was expected."),
    "not_number": (422, "A number was expected."),
    "not_flag": (422, "true or false was expected."),
    "not_instant": (422, "An instant with its zone was expected, such as 2026-03-01T14:30:00Z."),
    "not_day": (422, "A day such as 2026-03-01 was expected."),
    "not_uuid": (422, "A UUID was expected."),
    "bad_slug": (422, "A slug was expected: small letters, digits and inner hyphens."),
    "bad_share": (422, "A share between 0 and 1 was expected, as a number or as text."),
    "bad_cell": (
        422,
        "A cell code such as 3D was expected: row from the front, lane A to D from the driver edge.",
    ),
    "unknown_choice": (422, "The value is none of the choices."),
    "empty": (422, "The list may not be empty."),
    "max_length": (422, "The text or list is too long."),
    "min_length": (422, "The text or list is too short."),
    "max_value": (422, "The number is too large."),
    "min_value": (422, "The number is too small."),
    "wrong_currency": (422, "The amount is in another currency than the shop's."),
    "amount_too_fine": (422, "The amount has more decimals than the currency."),
    "measure_disagrees": (422, "The entered text of a measure and its value say two different things."),
}
_UNITS = {
    "calculation_error": (422, "The calculation refused the input; the detail says what was expected."),
    "bad_quantity": (422, "A quantity with its unit was expected, such as 33 ft 6 in."),
    "unknown_unit": (422, "The unit is not known."),
    "wrong_dimension": (422, "The unit measures something else than was expected."),
    "bad_amount": (422, "The amount of money is not one that can be kept."),
    "unknown_currency": (422, "The code is no currency in use."),
}
_ROOF = {
    "bad_geometry": (422, "The roof cannot be as described."),
    "out_of_range": (422, "A size or count is outside of what any roof has."),
    "unknown_kind": (422, "The kind is not known."),
    "impossible_shape": (422, "Sizes of a section contradict each other."),
    "opening_off_roof": (422, "An opening reaches over the edge of its section."),
    "openings_overlap": (422, "Two openings overlap."),
    "duplicate_label": (422, "Two things have the same label."),
    "bad_joint": (422, "A joint does not join two ends that are free."),
    "bad_scope": (422, "A scope does not lie on the roof."),
}
_SURVEY = {
    "bad_survey": (422, "The survey cannot be as described."),
    "unknown_section": (422, "The roof has no section of that label."),
    "mark_off_roof": (422, "The section has no such cell, strip or opening."),
    "conflicting_marks": (422, "Two marks of one place say different things."),
    "unknown_finding": (422, "The severity rules know no such kind of finding."),
    "bad_extent": (422, "The extent of a finding is missing, not wanted, or no size."),
    "more_than_there_is": (422, "More was found than the coach's record has."),
    "bad_place": (422, "The place is blank or in no form that is known."),
    "bad_repair": (422, "An earlier repair lacks what its kind needs, or has what it cannot have."),
    "bad_reading": (422, "A reading is of an unknown instrument, or no percentage."),
    "not_in_force": (422, "Something that is needed has no edition in force on the day."),
}
_QUOTES = {
    "survey_of_another_coach": (422, "The survey is of another coach than the quote."),
    "plan_refused": (422, "The roof, or what is in force, does not allow this plan, skin or option."),
    "nothing_to_do": (422, "The plan comes to no work on this roof."),
    "condition_conflict": (422, "A condition is unknown, or two cannot hold at once."),
    "bad_entry": (422, "A measure was entered where it cannot stand."),
    "bad_measure": (422, "The value does not fit the measure."),
    "unknown_measure": (422, "There is no such measure."),
    "missing_measure": (422, "A measure that has to be said was not."),
    "said_twice": (422, "The list says the same thing twice."),
    "bad_days": (422, "The last day of a range lies before the first."),
    "bad_severity": (422, "A tier or the reason for it cannot be as given."),
    "no_rate": (422, "No rate of a trade is in force on the day."),
    "no_price": (422, "No price of a material is in force on the day."),
    "no_material": (422, "A material that is needed has no edition in force on the day."),
    "no_markup": (422, "The pricing rule has no markup for a class of materials."),
    "no_repair": (422, "No assembly in force puts a hidden component right on this roof."),
    "unknown_tier": (422, "The tier table in force does not know a tier."),
    "unknown_tax_mode": (422, "The pricing rule names a tax mode or class that does not exist."),
    "assembly_failed": (422, "A formula of an assembly in force fails on this roof."),
    "tasks_in_a_circle": (422, "Assemblies in force wait for each other, so that no day can be told."),
    "review_state": (409, "The state of the review does not allow this."),
    "bad_bridge": (
        500,
        "Figures of a job contradict each other, so that no bridge between them adds up; a fault of the service.",
    ),
    "bad_tier_run": (500, "A quote was worked out at no tier at all; a fault of the service."),
    "job_state": (409, "The state of the job does not allow this."),
    "not_canonical": (500, "A record held a value that has no one way to be written; a fault of the service."),
    "quote_state": (409, "The state of the quote does not allow this."),
    "not_offered": (422, "An option was ticked that the offer does not have."),
    "offer_expired": (409, "The prices of the offer hold no longer; revise it to offer it at today's."),
    "provisional_offer": (409, "A price from telling or photographs cannot be accepted for work; sell a look first."),
    "other_document": (409, "Another document was accepted than stands, or than others have accepted; read it again."),
    "other_amount": (409, "Another limit was accepted than the document says."),
    "no_such_payer": (422, "The consent of this payer is not asked for."),
    "already_consented": (409, "The payer has accepted the document, and that stands."),
    "bad_consent_time": (422, "A consent cannot have been given then, or promises a day that was over."),
    "not_affirmed": (422, "An electronic consent was not affirmed, or the document was not looked through before it."),
    "link_revoked": (410, "The shop has taken the link back."),
    "link_expired": (410, "The time of the link is over."),
    "document_superseded": (410, "Another document has taken the place of the one that the link is for."),
    "document_withdrawn": (410, "The shop has taken the document back."),
    "document_expired": (410, "The time in which the document could be answered is over."),
    "only_told": (409, "The document is told to whoever opens the link and asks for no answer."),
    "document_changed": (410, "The document is not the one that the link was made for; ask the shop for a new link."),
    "too_many_alternatives": (409, "The offer has as many alternatives as it may have."),
    "offer_of_another_coach": (422, "An alternative is for the coach that the offer is about."),
    "older_engine": (409, "The quote was priced by an older version of the arithmetic; price it again first."),
    "not_newest_revision": (409, "The quote has a newer revision."),
    "newer_editions": (409, "Newer editions are in force than the draft was priced on; save it again, or confirm."),
    "nothing_to_explain": (404, "The quote has no such line, amount, component or payer."),
    "bad_estimate_line": (422, "A line of another party's estimate has a number that another line has."),
    "bad_decision": (422, "What was written about a difference contradicts itself or something else that was written."),
    "bad_reference": (422, "It is no name of a line of a quote."),
    "not_a_quantity": (422, "The quantity is no plain decimal number of 0 or more, or is too large or too fine."),
    "bad_payer": (422, "A payer, or a rule that gives one a part of the quote, contradicts itself or another."),
}
_JOBS = {
    "reason_missing": (422, "A job is cancelled or stopped with a reason."),
    "no_agreed_price": (422, "No unit price was agreed for the component; it is a change order."),
    "bad_found_extent": (422, "An extent above 0 was expected."),
    "more_than_exposed": (409, "The extent passes what the agreed scope exposes; `left` and `wanted` say it."),
    "pot_passed": (409, "The draw passes what is left of the pot; `left` and `wanted` say it. It is a change order."),
    "counted_elsewhere": (422, "The note names counted work that does not put the component right."),
    "unknown_opening": (422, "The job has no such opening entry."),
    "opening_member": (422, "An opening entry lacks what it needs, or has what it cannot have."),
    "unknown_component": (422, "The job has no such hidden component, or not on that construction."),
    "opened_twice": (409, "The place was opened for the component before; correct that entry."),
    "found_beyond_opened": (422, "More was found than opened, or opened than was exposed."),
    "place_out_of_scope": (422, "The place lies outside of the agreed scope; what was found there is a finding."),
    "corrected_before": (409, "It was corrected before, or is a correction."),
    "not_counted": (422, "The job has no such counted work."),
    "counted_beyond": (409, "More was done than quoted; `excess` of `components` is a found note, or else a change order."),
    "counted_noted": (409, "Found notes drew more of the counted work than is settled now; correct them first."),
    "bad_hash": (422, "A SHA-256 of 64 hexadecimal digits was expected."),
    "hours_logged": (409, "Billable hours were logged on the job, so it is not cancelled any more."),
}
_LEDGER = {
    "entry_member": (422, "An entry of this kind needs a member, or takes none of that name."),
    "bad_entry_day": (422, "The day is yet to come, or lies before the job was booked."),
    "too_many_hours": (422, "A worker would have more than 24 hours on a day."),
    "unknown_place": (422, "The job has no such line, assembly, hidden component, accepted change order or return."),
    "before_return": (422, "The entry is of a day on which the coach had not come back yet."),
    "covered_work": (409, "The work waits for the owner's answer to a change order, so it is not billable yet."),
    "said_otherwise": (409, "The client's id was used for an entry that says something else."),
    "not_correctable": (409, "The entry was corrected before, or is itself a correction."),
    "late_entry": (403, "The job is closed; what comes after is logged by a manager."),
}
_FLEETS = {
    "coach_twice": (422, "The coach stands in the fleet already."),
    "coach_of_another_customer": (422, "The coach is of another customer than the fleet."),
    "fleet_member": (409, "The quote is of a coach of a fleet; it is saved, issued, answered and deleted with the fleet."),
    "bad_fleet": (422, "A fleet has too few or too many coaches, or they are not quoted on the same work."),
    "bad_lot": (422, "Hidden work can be summed over one to fifty coaches."),
    "bad_learning": (422, "A learning rate lies outside of 0.6 to 1, or the number of a unit below 1."),
}
_BILLS = {
    "bill_passes_authorised": (409, "The bill would be more than was authorised; both amounts are told."),
    "bad_bill_item": (422, "Something that should be billed does not add up or is there twice; the detail says what."),
    "bad_stage": (422, "A stage names a phase that the job has not, or a share that is none."),
    "nothing_to_bill": (409, "Nothing has changed since the job was billed last, or less is done than was billed."),
    "final_billed": (409, "The final bill is out, and no stage comes after it."),
    "change_order_waits": (409, "A change order waits for its consent, so that nobody can say yet what the job comes to."),
    "settlement_missing": (409, "A job is stopped by its settlement, and billed by it, once that is signed."),
    "not_billed": (409, "The final bill is not out, or something has changed since the last bill."),
    "counted_open": (409, "Nobody has said yet how much was done of counted work; the detail names it."),
    "bad_payment": (422, "A payment cannot be: of nobody who pays, of nothing, to come, or more back than came in."),
    "bad_leak_test": (422, "A leak test contradicts itself, or is not safe."),
    "leak_test_missing": (409, "The last leak test did not pass, or there is none, so that the coach is not handed over."),
    "bad_return": (422, "A day before the coach was handed over, or one to come."),
    "bad_credit": (422, "A credit note takes back what was not billed, or more than that."),
}
_EDITIONS = {
    "bad_contents": (422, "A field of an edition's contents is not as expected."),
    "bad_template": (422, "Something in an edition does not fit the others."),
    "unknown_reference": (422, "An edition refers to a slug that no edition in force has."),
    "not_foam_safe": (422, "An adhesive that may dissolve the foam core stands in work on the core."),
    "counted_twice": (422, "A condition multiplies hours of work whose formulas count the same thing already."),
    "predecessors_in_a_circle": (422, "Assemblies wait for each other in a circle."),
    "formula_error": (422, "A formula is not in the language, or its kinds do not fit; the detail says where."),
    "formula_faults": (422, "Several things are wrong with a formula; `errors` lists each of them."),
    "division_by_zero": (422, "A formula divides by a figure that is zero."),
    "negative_root": (422, "A formula takes the square root of a figure below zero."),
    "not_finite": (422, "A formula comes to a figure that is too large or no number."),
    "no_value": (422, "A formula names a figure that has no value."),
    "bad_value": (422, "A formula was given a value of another kind than its figure has."),
    "formula_loop": (422, "Formulas need each other in a circle."),
    "reserved_name": (422, "A measure is called like a unit, a function or a word of the language."),
    "bad_kind": (422, "A kind of value that nothing can have, such as a range from 3 to 2."),
    "edition_unreadable": (422, "The contents of an edition in force are damaged; the detail names it. Enter it again."),
    "import_state": (409, "The import is not at the point at which this can be done."),
    "import_faulty": (409, "The file has faults, so nothing of it is applied; put them right and send it again."),
    "in_force_changed": (409, "What is in force has changed since the file was staged; `moved` lists where. Send it again."),
    "edition_used": (409, "An issued quote was worked from the edition; it is followed by one of a later day."),
    "bad_draft": (422, "A draft of an edition means nothing beside what is in force, or is there twice."),
    "edition_withdrawn": (409, "The edition was withdrawn; it is entered anew."),
    "edition_needed": (409, "Others cannot do without the edition; `needed_by` lists what would be wrong without it."),
    "follows_network": (409, "From that day the shop follows its network, so there are no contents to change."),
    "no_override": (409, "There is no override to end, or no edition of the network to follow."),
    "note_missing": (422, "A change that reaches back before today needs a note that says why."),
    "quoted_since": (409, "An issued quote read what was in force on a day that the edition reaches back to."),
    "bad_shop": (422, "A network or shop cannot be made as asked."),
}
_HIDDEN_WORK = {
    "bad_exposure": (422, "A hidden component has a number that cannot be."),
    "bad_share_entry": (422, "A low, likely and high share are not in order, or are no shares."),
    "bad_cost_factors": (422, "A cost factor, find factor or spread cannot be."),
    "bad_confidence_level": (422, "The confidence level is outside of what is allowed."),
    "bad_price_basis": (422, "The price basis is neither firm nor open."),
    "bad_forecast_amount": (422, "An amount that a forecast was asked about is no usable amount."),
    "bad_opening": (422, "What was opened or found of a component cannot be, or the job has no such component."),
    "bad_progress": (422, "Hours are below zero, or a share earned is outside of 0 to 1."),
    "bad_layout": (422, "The deck or a sheet cannot be laid out."),
}
_CHANGE_ORDERS = {
    "settlement_state": (409, "The state of the settlement, or one that the job has already, does not allow this."),
    "bad_settlement": (422, "More would be settled than was quoted or sold, or something that was not."),
    "change_order_state": (409, "The state of the change order, or of its quote, does not allow this."),
    "bad_ways": (422, "The ways of a change order cannot be offered together."),
    "cannot_close_up": (422, "A component that must not be left as it was found cannot be closed up."),
    "not_carried": (409, "No adopted policy lets the shop do this without a consent."),
    "bad_work": (422, "Work of a change order is unknown to the job, or comes to nothing."),
    "no_tax_class": (500, "The stored cost base of a job lacks a material of one of its lines; a fault of the service."),
}
_POLICIES = {
    "step_state": (409, "The step of the quote is not in a state that allows this."),
    "step_expired": (409, "The prices of the step hold no longer; make a new one."),
    "step_not_open": (409, "The step was not accepted, was closed up, or its job has gone on with the whole."),
    "bad_step": (422, "The terms of a step contradict its kind or its quote."),
    "empty_step": (422, "The step comes to no work, or the quote opens nothing that could be torn down."),
    "bad_storage_days": (422, "More days of storage than the owner has consented to."),
    "bad_promised_date": (422, "The day cannot be promised: it is over, or it is promised already."),
    "date_proposal_state": (409, "The proposal of another promised day was answered, taken back or superseded."),
    "unknown_overrun_template": (422, "No template of overrun with that slug ships with the service."),
    "policy_back_dated": (422, "A policy of overrun holds from today on at the earliest."),
    "template_currency": (422, "The amounts of a template of overrun are in another currency than the shop's."),
}
# Faults of ours that no input should reach. A client sees internal_error.
_OURS = {
    "bad_overrun_template": (500, "The templates of overrun that ship with the service, or one that was adopted, are damaged."),
    "bad_sample_points": (500, "The sample points that ship with the service are damaged."),
    "not_decimal": (500, "A number of another kind than Decimal reached the arithmetic of money."),
}

# One a line.
_GROUPS = (
    _REQUEST,
    _WRITES,
    _SHAPE,
    _UNITS,
    _ROOF,
    _SURVEY,
    _QUOTES,
    _JOBS,
    _LEDGER,
    _BILLS,
    _FLEETS,
    _EDITIONS,
    _HIDDEN_WORK,
    _CHANGE_ORDERS,
    _POLICIES,
    _OURS,
)
CODES: dict[str, ErrorCode] = {
    code: ErrorCode(status, meaning) for group in _GROUPS for code, (status, meaning) in group.items()
}
