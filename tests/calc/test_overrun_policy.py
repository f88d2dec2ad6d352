"""What a template allows beyond an authorised total, against published and hand-worked figures."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.money import currency
from quotes.calc.consent import (
    LABELS,
    TemplateCurrencyError,
    TemplateError,
    as_row,
    highest_without_consent,
    overrun_limit,
    shipped_templates,
    template_from,
)
from quotes.snapshot import OVERRUN_TEMPLATES, overrun_templates
from tests.calc.overrun_figures import FIGURES

USD = currency("USD")
TEMPLATES = overrun_templates()
CASES = [(slug, *case) for slug, cases in FIGURES.items() for case in cases]


def test_there_are_164_check_values_of_27_places() -> None:
    assert (len(CASES), len(FIGURES), set(FIGURES)) == (164, 27, set(TEMPLATES))


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(str(part) for part in case))
def test_a_template_names_the_figure_that_its_source_gives(
    case: tuple[str, str, str | None, int] | tuple[str, str, str | None],
) -> None:
    slug, authorised, figure, *age = case
    found = overrun_limit(TEMPLATES[slug], Decimal(authorised), USD, *age)
    assert found == (None if figure is None else Decimal(figure))


def test_the_larger_limb_counts_where_the_text_says_so_and_never_passes_its_cap() -> None:
    # Florida: the larger of 10 dollars and 10 percent, 50 dollars at most. 99.99 x 0.10 = 9.999, down to 9.99: 10 is more.
    florida = TEMPLATES["us-fl"]
    assert overrun_limit(florida, Decimal("99.99"), USD) == Decimal("109.99")
    assert overrun_limit(florida, Decimal("499.99"), USD) == Decimal("549.98")  # 49.999 down to 49.99
    assert overrun_limit(florida, Decimal("500.01"), USD) == Decimal("550.01")  # 50.001 down to 50.00


def test_a_band_by_amount_ends_below_its_figure() -> None:
    # Hawaii: 15 percent below 100 dollars, 10 from there on. 99.99 x 0.15 = 14.9985, down to 14.99.
    hawaii = TEMPLATES["us-hi"]
    assert overrun_limit(hawaii, Decimal("99.99"), USD) == Decimal("114.98")
    assert overrun_limit(hawaii, Decimal("100.00"), USD) == Decimal("110.00")


def test_a_band_by_age_holds_from_its_year_on_and_not_where_nobody_knows_the_age() -> None:
    virginia = TEMPLATES["us-va"]
    assert overrun_limit(virginia, Decimal("1000.00"), USD, 25) == Decimal("1200.00")
    assert overrun_limit(virginia, Decimal("1000.00"), USD, 24) == Decimal("1100.00")
    assert overrun_limit(virginia, Decimal("1000.00"), USD) == Decimal("1100.00")


@pytest.mark.parametrize(
    ("slug", "authorised", "figure"),
    [
        ("us-mn", "100.00", None),  # more than 100
        ("us-mn", "100.01", "110.01"),
        ("us-mn", "7499.99", "8249.98"),
        ("us-mn", "7500.00", None),  # less than 7,500
        ("us-co", "100.00", None),
        ("us-co", "100.01", "110.01"),
        ("us-nc", "350.00", None),
        ("us-nc", "350.01", "385.01"),
    ],
)
def test_a_rule_sets_nothing_outside_of_the_amounts_that_it_speaks_about(
    slug: str, authorised: str, figure: str | None
) -> None:
    assert overrun_limit(TEMPLATES[slug], Decimal(authorised), USD) == (None if figure is None else Decimal(figure))


def test_where_equality_is_doubtful_the_last_cent_needs_a_consent() -> None:
    assert highest_without_consent(TEMPLATES["us-md"], Decimal("9000.00"), USD) == Decimal("9899.99")
    assert highest_without_consent(TEMPLATES["us-nv"], Decimal("9000.00"), USD) == Decimal("9099.99")
    assert highest_without_consent(TEMPLATES["us-mi"], Decimal("9000.00"), USD) == Decimal("9050.00")
    # Ten percent of nine cents is no cent: what was authorised stays.
    assert highest_without_consent(TEMPLATES["us-md"], Decimal("0.09"), USD) == Decimal("0.09")


def test_only_two_places_make_equality_doubtful_and_four_leave_sales_tax_out() -> None:
    assert {slug for slug, each in TEMPLATES.items() if each.equality == "consent"} == {"us-md", "us-nv"}
    assert {slug for slug, each in TEMPLATES.items() if each.tax_base == "without_tax"} == {"us-wa", "us-ia", "us-co", "us-wi"}


@pytest.mark.parametrize("slug", [None, "us-tx", "us-ca"])
def test_without_a_figure_nothing_is_allowed_beyond_what_was_authorised(slug: str | None) -> None:
    template = None if slug is None else TEMPLATES[slug]
    assert highest_without_consent(template, Decimal("9000.00"), USD) == Decimal("9000.00")


def test_over_a_written_price_limit_one_rule_allows_nothing() -> None:
    # Illinois has ten percent over an estimate and nothing over a written limit; a limit is what an owner consents to.
    assert overrun_limit(TEMPLATES["us-il"], Decimal("9000.00"), USD) == Decimal("9900.00")
    assert highest_without_consent(TEMPLATES["us-il"], Decimal("9000.00"), USD) == Decimal("9000.00")
    assert [slug for slug, each in TEMPLATES.items() if each.over_limit] == ["us-il"]


@given(st.sampled_from(sorted(TEMPLATES)), st.integers(0, 10**8), st.none() | st.integers(0, 60))
def test_what_is_allowed_is_never_less_than_authorised_nor_more_than_the_texts_largest_limb(
    slug: str, cents: int, age: int | None
) -> None:
    authorised = Decimal(cents).scaleb(-2)
    highest = highest_without_consent(TEMPLATES[slug], authorised, USD, age)
    assert authorised <= highest <= authorised + max(authorised / 5, Decimal(10))
    assert highest == highest.quantize(Decimal("0.01"))


def test_amounts_in_dollars_say_nothing_in_another_currency() -> None:
    with pytest.raises(TemplateCurrencyError, match="USD"):
        overrun_limit(TEMPLATES["us-mi"], Decimal(9000), currency("JPY"))


def test_every_row_says_how_it_is_known_and_what_is_not_verified() -> None:
    for template in TEMPLATES.values():
        assert template.read in LABELS
        assert template.citation
        assert template.text_of
        assert template.version
        if template.read != "text":
            assert template.not_verified
    assert {slug for slug, each in TEMPLATES.items() if each.read == "memory"} == {"us-tx", "us-az", "us-ut"}
    assert {slug for slug, each in TEMPLATES.items() if each.read == "copy"} == {"us-ma", "us-nc"}


def test_an_adopted_template_reads_back_as_it_was() -> None:
    for slug, template in TEMPLATES.items():
        assert template_from(slug, as_row(template)) == template


def test_a_file_that_was_changed_is_refused(tmp_path: Path) -> None:
    text = OVERRUN_TEMPLATES.read_bytes().replace(b'absolute = "50"', b'absolute = "500"')
    with pytest.raises(TemplateError, match="changed or damaged"):
        shipped_templates(text, {})


@pytest.mark.parametrize(
    "change",
    [
        {"extra": "x"}, {"combine": "sum"}, {"percent": "ten"}, {"percent": 0.1}, {"absolute": "-1"},
        {"retention_months": "36"},
        {"band": [{"percent": "0.2"}]}, {"percent": None, "absolute": None}, {"place": 3}, {"percent": "NaN"},
    ],
    ids=str,
)  # fmt: skip
def test_a_damaged_row_is_refused_by_name(change: dict[str, object]) -> None:
    row = {**as_row(TEMPLATES["us-mi"]), **change}
    with pytest.raises(TemplateError, match="us-mi"):
        template_from("us-mi", row)


def test_a_row_without_what_must_be_told_is_refused() -> None:
    row = as_row(replace(TEMPLATES["us-mi"]))
    del row["citation"]
    with pytest.raises(TemplateError, match="citation"):
        template_from("us-mi", row)
