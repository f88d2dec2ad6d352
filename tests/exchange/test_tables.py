"""Files of a cost base: every fault at once with row and column, and out again without loss."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.exchange.csv_tables import read_csv, write_csv
from costbase.exchange.staging import MOST_BYTES, Staging, TableFault
from costbase.exchange.toml_tables import read_toml, write_toml
from tests.default_base import CSV_FILES, NETWORK, TOML_FILES, stagings

RATES = "slug,name,cost_per_hour,billed_per_hour,overtime_factor\n"
HELPER = "helper,Helper,32.00,95.00,1.5\n"


def rates(text: str | bytes) -> Staging:
    return read_csv("rates.csv", "rate", text if isinstance(text, bytes) else text.encode())


def toml(text: str | bytes) -> Staging:
    return read_toml("base.toml", text if isinstance(text, bytes) else text.encode())


def told(staging: Staging) -> list[tuple[str, str]]:
    return [(fault.place, fault.column) for fault in staging.faults]


def bare(staging: Staging) -> list[tuple[str, str, dict[str, object]]]:
    return [(entry.kind, entry.slug, entry.contents) for entry in staging.entries]


@pytest.mark.parametrize(("name", "kind"), CSV_FILES.items())
def test_a_table_written_out_and_read_again_is_the_same(name: str, kind: str) -> None:
    staging = read_csv(name, kind, (NETWORK / name).read_bytes())
    written = write_csv(kind, staging.entries)
    assert bare(read_csv(name, kind, written)) == bare(staging)
    assert write_csv(kind, read_csv(name, kind, written).entries) == written


@pytest.mark.parametrize("name", TOML_FILES)
def test_a_toml_file_written_out_and_read_again_is_the_same(name: str) -> None:
    staging = read_toml(name, (NETWORK / name).read_bytes())
    written = write_toml(staging.entries)
    assert bare(read_toml(name, written)) == bare(staging)
    assert write_toml(read_toml(name, written).entries) == written


@pytest.mark.parametrize("name", [*CSV_FILES, *TOML_FILES])
def test_the_files_of_the_default_base_are_what_an_export_writes_under_their_comments(name: str) -> None:
    staging = next(one for one in stagings() if one.file == name)
    written = write_csv(CSV_FILES[name], staging.entries) if name in CSV_FILES else write_toml(staging.entries)
    kept = [line for line in (NETWORK / name).read_bytes().splitlines(keepends=True) if not line.startswith(b"#")]
    assert b"".join(kept).lstrip(b"\n") == written


def test_rates_and_materials_can_stand_in_toml_too() -> None:
    for staging in stagings():
        assert bare(read_toml("all.toml", write_toml(staging.entries))) == bare(staging)


def test_a_table_is_read_whatever_the_order_of_its_columns() -> None:
    staging = rates("billed_per_hour,slug,overtime_factor,name,cost_per_hour\n95.00,helper,1.5,Helper,32.00\n")
    assert bare(staging) == bare(rates(RATES + HELPER))
    assert staging.faults == ()


def test_a_byte_order_mark_line_ends_of_any_kind_comments_and_empty_rows_are_let_be() -> None:
    text = "# invented\n#, not a row\n" + RATES + "\n,,,,\n" + HELPER
    for content in (text.encode("utf-8-sig"), text.replace("\n", "\r\n").encode()):
        assert bare(rates(content)) == bare(rates(RATES + HELPER))


def test_every_fault_of_a_table_is_told_with_row_and_column() -> None:
    staging = rates(
        "# invented\n" + RATES + "helper,,32,95.00,1.5\n" + "Lead,Lead,-1,ninety,1.5\n" + "short,row\n" + HELPER + HELPER
    )
    assert told(staging) == [
        ("row 3", "name"),
        ("row 4", "slug"),
        ("row 4", "cost_per_hour"),
        ("row 4", "billed_per_hour"),
        ("row 5", ""),
        ("row 7", "slug"),
    ]
    assert staging.faults[0] == TableFault("rates.csv", "row 3", "name", "name is missing")
    assert "not 'ninety'" in staging.faults[3].reason


def test_yes_no_and_whole_numbers_of_a_table_are_read_as_such() -> None:
    columns = "slug,name,unit,pack_size,pack_name,waste_share,supply,lead_days,markup_class,tax_class,whole,adhesive\n"
    row = "a-vent,Vent,each,1,piece,0,job,{},materials,parts,{},{}\n"
    good = read_csv("m.csv", "material", (columns + row.format(2, "Yes", "no")).encode())
    assert good.faults == ()
    assert good.entries[0].contents["whole"] is True
    assert good.entries[0].contents["lead_days"] == 2
    assert "adhesive" not in good.entries[0].contents
    bad = read_csv("m.csv", "material", (columns + row.format("soon", "perhaps", "1")).encode())
    assert told(bad) == [("row 2", "whole"), ("row 2", "lead_days"), ("row 2", "adhesive")]


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("slug,name,cost_per_hour,billed_per_hour", "overtime_factor"),
        ("slug,name,cost_per_hour,billed_per_hour,overtime_factor,colour", "colour"),
        ("slug,name,name,cost_per_hour,billed_per_hour,overtime_factor", "name"),
        ("slug;name;cost_per_hour;billed_per_hour;overtime_factor", ""),
    ],
)
def test_columns_that_are_missing_unknown_or_twice_are_told_before_any_row(header: str, column: str) -> None:
    staging = rates(header + "\n" + HELPER)
    assert told(staging) == [("row 1", column)]
    assert staging.entries == ()


@pytest.mark.parametrize("content", [b"", b"# only a comment\n", b"\n\n"])
def test_a_table_without_columns_is_told(content: bytes) -> None:
    assert len(rates(content).faults) == 1


@pytest.mark.parametrize("read", [rates, toml])
def test_what_is_too_long_or_no_text_is_refused_as_a_whole(read: object) -> None:
    assert callable(read)
    for content in (b"a" * (MOST_BYTES + 1), b"slug,name\n\xff\xfe\n", b"slug\x00"):
        staging = read(content)
        assert (len(staging.faults), staging.entries) == (1, ())
    assert read(b"a = 1\n\xff").faults[0].place == "line 2"


def test_an_open_quote_in_a_table_is_told_with_its_row() -> None:
    staging = rates(RATES + 'helper,"Helper,32.00,95.00,1.5\n')
    assert [fault.place for fault in staging.faults] == ["row 2"]


SKIN_OFF = """[assembly.skin-off]
name = "Skin off"
phase = "teardown"
level = "section"
kind = "firm"
driver = "skin_area"
driver_unit = "ft2"
crew = 2
"""


def test_every_fault_of_a_toml_file_is_told_with_table_and_field() -> None:
    staging = toml(
        SKIN_OFF.replace("crew = 2", "crew = 0\ncolour = 1")
        + "[plan.quick]\nname = 3\nopens = 'yes'\nassemblies = ['a', 'a']\n"
        + "[spell.fog]\na = 1\n"
        + "[condition]\nhot = 1\n"
    )
    assert set(told(staging)) == {
        ("assembly skin-off", "crew"),
        ("assembly skin-off", "colour"),
        ("plan quick", "name"),
        ("plan quick", "opens"),
        ("plan quick", "assemblies/1"),
        ("spell", ""),
        ("condition hot", ""),
    }
    assert staging.entries == ()


def test_toml_that_is_none_is_told_with_its_line() -> None:
    assert "line 2" in toml("[assembly.a]\nname = \n").faults[0].reason
    assert "unknown kind" in toml("a = 1\n").faults[0].reason
    assert "expected tables such as" in toml("plan = 1\n").faults[0].reason


@pytest.mark.parametrize(
    "text",
    [
        "a." * 300_000 + "b = 1",
        "[" + "a." * 300_000 + "b]",
        "x = {" + "a." * 300_000 + "b = 1}",
        'x = {y = "#", ' + "a . " * 200_000 + "b = 1}",
        "".join('"a"."b".' for _ in range(60_000)) + "c = 1",
        "x = {y = 'it\\'s', " + "a." * 200_000 + "b = 1}",
        'x = {y = """a"""", ' + "a." * 200_000 + 'b = 1}"',
        "x = " + "[" * 400_000,
        "x = " + "{a = " * 150_000,
        "x = " + "9" * 900_000,
        "x = 0x" + "f" * 900_000,
        "[plan.a]\nname = 0x" + "f" * 900_000,
        'x = "' + "\\" * 900_000,
        "'" * 900_000,
        "." * 900_000,
        "a" * 900_000,
    ],
    ids=range(16),
)
def test_a_file_made_to_exhaust_the_parser_is_refused_before_it_does(text: str) -> None:
    # Without the count of parts, the first of these takes all memory there is, and the test run with it.
    staging = toml(text)
    assert staging.faults
    assert staging.entries == ()


def test_a_decimal_in_quotes_or_a_comment_does_not_count_as_a_long_name() -> None:
    commented = SKIN_OFF + "# 1.2.3.4.5.6.7.8.9.10.11\n" + 'cautions = ["See 1.2.3.4.5.6.7.8.9.10."]\n'
    assert toml(commented).faults == ()


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=80) | st.text(max_size=60).map(str.encode))
def test_any_bytes_are_staged_or_told(content: bytes) -> None:
    for staging in (rates(content), toml(content), rates(RATES.encode() + content), toml(SKIN_OFF.encode() + content)):
        assert staging.entries or staging.faults


def test_a_file_without_an_edition_is_told() -> None:
    for staging in (rates(b""), rates(RATES.encode()), toml(b""), toml(b"# nothing yet\n"), toml(b"[rate]\n")):
        assert staging.entries == ()
        assert [fault.reason[:8] for fault in staging.faults] == ["expected"]


names = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=30).filter(
    lambda text: text == text.strip() and text[0] not in "=+-@"
)


@settings(max_examples=100, deadline=None)
@given(name=names, caution=names)
def test_any_words_come_back_from_both_kinds_of_file(name: str, caution: str) -> None:
    one = toml(SKIN_OFF)
    entry = one.entries[0]
    entry.contents.update(name=name, cautions=[caution])
    assert bare(toml(write_toml([entry]))) == bare(one)
    helper = rates(RATES + HELPER)
    helper.entries[0].contents["name"] = name
    assert bare(rates(write_csv("rate", helper.entries))) == bare(helper)
