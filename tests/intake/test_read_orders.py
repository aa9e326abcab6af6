"""Whole files: encodings, separators, line ends, headings, ragged and repeated rows, sheets; nothing is lost."""

from __future__ import annotations

import codecs
import csv
import datetime as dt
import io

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from intake_tables import SHOP, codes, read

from engrave.intake import OrdersError, read_orders

PLAIN = "Order,Name,Message\n1,Łukasz,für José\n2,Ağrı,\n"


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""), ("utf-8", codecs.BOM_UTF8), ("utf-16-le", codecs.BOM_UTF16_LE), ("utf-16-be", codecs.BOM_UTF16_BE),
        ("utf-16-le", b""), ("utf-16-be", b""), ("utf-32-le", codecs.BOM_UTF32_LE), ("utf-32-be", codecs.BOM_UTF32_BE),
    ],
)  # fmt: skip
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(tmp_path, encoding: str, mark: bytes, separator: str, end: str) -> None:
    text = PLAIN.replace(",", separator).replace("\n", end)
    file = read(tmp_path, mark + text.encode(encoding))
    assert [(o.id, o.words.name, o.words.message, o.row) for o in file.orders] == [
        ("1", "Łukasz", "für José", 2),
        ("2", "Ağrı", "", 3),
    ]
    assert ("separator" in codes(file)) == (separator != ",")
    assert ("encoding" in codes(file)) == (encoding != "utf-8" or bool(mark))


def test_the_shops_code_page_is_used_and_told(tmp_path) -> None:
    file = read(tmp_path, "Name;Message\nJosé;“schön” für 5 €\n".encode("cp1252"))
    assert (file.orders[0].words.name, file.orders[0].words.message) == ("José", "“schön” für 5 €")
    (told,) = [p for p in file.problems if p.code == "code-page"]
    assert "cp1252" in told.says
    assert told.level == "note"


def test_a_letter_that_the_code_page_does_not_have_is_a_look_on_its_row(tmp_path) -> None:
    file = read(tmp_path, b"Name\nJos\x81\nAnna\n")
    assert [codes(o, "look") for o in file.orders] == [["lost-letters"], []]


def test_damaged_utf8_stays_utf8_and_asks_on_the_damaged_row(tmp_path) -> None:
    data = "Name\nŁukasz\nZoë\n".encode() + b"Jos\xe9\n"
    file = read(tmp_path, data)
    assert [o.words.name for o in file.orders] == ["Łukasz", "Zoë", "Jos\ufffd"]
    assert codes(file.orders[2], "look") == ["lost-letters"]
    assert "damaged-letters" in codes(file)


WORDS = st.text(st.characters(categories=["L", "M", "N", "P", "S", "Zs"]), min_size=1, max_size=20)
CELLS = st.builds(lambda a, b: a + b, st.sampled_from(["", "Anna\n", 'the "best", ', "; ", "\t"]), WORDS)


@pytest.mark.source("Python's csv module, which writes by RFC 4180")
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(
    rows=st.lists(st.tuples(CELLS, CELLS), min_size=1, max_size=6),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    separator=st.sampled_from(",;\t"),
    end=st.sampled_from(["\r\n", "\n"]),
)
def test_what_the_csv_module_writes_is_received_as_it_was(
    tmp_path, rows, encoding: str, separator: str, end: str
) -> None:
    """The standard library writes by RFC 4180 (quotes doubled, cells with breaks in quotes); all comes back untouched."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=end).writerows(
        [("order", "name", "message"), *((f"A{i}", *row) for i, row in enumerate(rows))]
    )
    file = read(tmp_path, out.getvalue().encode(encoding))
    got = [(o.received.name, o.received.message) for o in file.orders]
    empty = lambda text: "" if not text.strip(" \t\n\u00a0") else text  # noqa: E731
    assert got == [(empty(a), empty(b)) for a, b in rows]
    assert [o.row for o in file.orders] == list(range(2, len(rows) + 2))


@pytest.mark.source("RFC 4180, section 2, rules 5 to 7")
def test_rfc_4180_examples(tmp_path) -> None:
    """RFC 4180, section 2, rules 5 to 7: quoted cells, breaks and doubled quotes inside them."""
    text = 'name,message,foot\r\n"aaa","b \r\nbb","ccc"\r\nzzz,yyy,xxx\r\n"aaa","b""bb","ccc"\r\n'
    rows = [(o.received.name, o.received.message, o.received.foot) for o in read(tmp_path, text).orders]
    assert rows == [("aaa", "b \r\nbb", "ccc"), ("zzz", "yyy", "xxx"), ("aaa", 'b"bb', "ccc")]


@pytest.mark.parametrize(
    "headings",
    [
        "Order Number;NAME;mes_sage",
        "order-number;Personalisation;MESSAGE",
        "Order number ; name (optional); Message *",
        "ORDER;Prenom;message:",
    ],
)
def test_headings_in_any_case_and_spelling(tmp_path, headings: str) -> None:
    (order,) = read(tmp_path, f"{headings}\n7;Anna;Hello\n").orders
    assert (order.id, order.words.name, order.words.message) == ("7", "Anna", "Hello")


def test_headings_below_a_title_and_rows_above_are_told(tmp_path) -> None:
    file = read(tmp_path, "Orders of the week,,\n,,\nName,Message,\nAnna,Hello,\n")
    assert [(o.row, o.words.name) for o in file.orders] == [(4, "Anna")]
    (told,) = [p for p in file.problems if p.code == "above-headings"]
    assert "‘Orders of the week’" in told.says


def test_repeated_headings_and_empty_rows_are_no_orders_and_keep_the_numbers(tmp_path) -> None:
    file = read(tmp_path, "Order,Name\n1,Anna\n\n , \norder , NAME\n2,Ben\n,\u00a0\n")
    assert [(o.row, o.id) for o in file.orders] == [(2, "1"), (6, "2")]
    assert [p.where for p in file.problems if p.code == "repeated-headings"] == ["row 5"]


def test_ragged_rows(tmp_path) -> None:
    file = read(tmp_path, "Order,Name,Message\n1,Anna\n2,Smith, Ben,Hello\n3\n")
    assert [(o.id, o.words.name, o.words.message) for o in file.orders] == [
        ("1", "Anna", ""),
        ("2", "Smith", "Ben"),
        ("3", "", ""),
    ]
    assert codes(file.orders[1], "look") == ["too-many-cells"]
    assert "‘Hello’" in next(p.says for p in file.orders[1].problems if p.code == "too-many-cells")


def test_pieces_of_an_order_in_row_order_wherever_they_stand(tmp_path) -> None:
    file = read(tmp_path, "Order,Name\n1,Anna\n2,Ben\n1,Carla\n,Dora\n1,Anna\n")
    assert [(o.id, o.piece, o.row) for o in file.orders] == [
        ("1", 1, 2),
        ("2", 1, 3),
        ("1", 2, 4),
        ("row-5", 1, 5),
        ("1", 3, 6),
    ]
    assert [codes(o, "look") for o in file.orders] == [[], [], [], [], ["same-row-twice"]]
    assert codes(file.orders[3], "note") == ["no-order-number"]


def test_unknown_columns_are_carried_untouched(tmp_path) -> None:
    file = read(tmp_path, "Name,Colour,,Colour\nAnna,=1+1, x ,blue\n")
    assert file.columns == ("Colour", "column 3", "Colour (2)")
    assert dict(file.orders[0].extra) == {"Colour": "=1+1", "column 3": " x ", "Colour (2)": "blue"}
    assert [p.says for p in file.problems if p.code == "unknown-columns"] == [
        "Columns that are carried along and not read: ‘Colour’, ‘Colour’."
    ]


def test_a_quote_that_never_closes_swallows_no_order(tmp_path) -> None:
    file = read(tmp_path, 'Order,Name\n1,"Anna\n2,Ben\n3,Carla\n')
    assert [(o.id, o.words.name, o.row) for o in file.orders] == [("1", "“Anna", 2), ("2", "Ben", 3), ("3", "Carla", 4)]
    assert codes(file.orders[0], "look") == ["open-quote"]


def test_rows_swallowed_between_two_stray_quotes_are_held(tmp_path) -> None:
    file = read(tmp_path, 'Order;Name;Message;Wood\n1;"Anna;;oak\n2;Ben;Hi;oak\n3;C"arla;;oak\n')
    assert codes(file.orders[0], "hold") == ["rows-in-a-cell"]


def test_a_stated_separator_is_used(tmp_path) -> None:
    file = read(tmp_path, "sep=;\r\nOrder;Name\r\n1;Anna, Ben\r\n")
    assert [(o.id, o.words.name, o.row) for o in file.orders] == [("1", "Anna, Ben", 2)]


def test_one_column_of_names(tmp_path) -> None:
    assert [o.words.name for o in read(tmp_path, "Name\nAnna\nBen; Carla\n").orders] == ["Anna", "Ben; Carla"]


def test_a_shop_says_that_a_heading_is_not_words(tmp_path) -> None:
    shop = SHOP.__class__(
        **{**{n: getattr(SHOP, n) for n in SHOP.__slots__}, "columns": {"extra": ("Name",), "name": ("Text",)}}
    )
    (order,) = read(tmp_path, "Name,Text\nBuyer,Anna\n", shop).orders
    assert (order.words.name, order.extra["Name"], order.problems) == ("Anna", "Buyer", ())


def test_words_missing_still_gives_an_order(tmp_path) -> None:
    file = read(tmp_path, "Order,Name,Lid\n1,,round\n2,,\n")
    assert [(o.id, o.words.filled()) for o in file.orders] == [("1", ()), ("2", ())]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"), (b" \n\n", "is empty"), (b",,\n,,\n", "is empty"), (b"\xd0\xcf\x11\xe0 old", "old workbook"), (b"%PDF-1.7", "a PDF"),
        (b"\x89PNG\r\n", "a picture"), (bytes(range(256)) * 4, "not text"), (b"PK\x03\x04 something", "no .xlsx sheet"),
        (b"PK\x03\x04 xl/workbook torn", "cannot be read"), (b"Anna,Hello\nBen,Hi\n", "No row of headings"), (b"Order,Wood\n1,oak\n", "No column of words"),
    ],
)  # fmt: skip
def test_files_of_no_use_are_refused_in_plain_words(tmp_path, data: bytes, says: str) -> None:
    with pytest.raises(OrdersError, match=says):
        read(tmp_path, data)


def test_a_missing_file_and_a_folder_are_refused(tmp_path) -> None:
    with pytest.raises(OrdersError, match="There is no orders file"):
        read_orders(tmp_path / "none.csv", SHOP)
    with pytest.raises(OrdersError, match="cannot be read"):
        read_orders(tmp_path, SHOP)


def test_headings_without_orders_are_told(tmp_path) -> None:
    file = read(tmp_path, "Name,Message\n")
    assert (file.orders, codes(file, "look")) == ((), ["no-orders"])


# --- sheets -----------------------------------------------------------------------------------------------------------


def workbook(folder, *rows: tuple[object, ...], formats: dict[str, str] | None = None, before: bool = False):
    book = openpyxl.Workbook()
    sheet = book.active
    if before:
        sheet.append(["About these orders"])
        sheet = book.create_sheet("Week 12")
    for row in rows:
        sheet.append(row)
    for cell, number_format in (formats or {}).items():
        sheet[cell].number_format = number_format
    path = folder / "orders.xlsx"
    book.save(path)
    return read_orders(path, SHOP)


def test_a_sheet_reads_as_its_csv_does(tmp_path) -> None:
    file = workbook(
        tmp_path,
        ("Order", "Name", "Message", "Qty"),
        (1001, "Łukasz", "a|b\nc", 2),
        (None,) * 4,
        ("A-2", "Zoë", None, "two"),
    )
    assert [(o.id, o.row, o.words.name, o.words.message, o.quantity) for o in file.orders] == [
        ("1001", 2, "Łukasz", "a\nb\nc", 2),
        ("A-2", 4, "Zoë", "", 2),
    ]


def test_the_first_sheet_with_headings_is_read_and_named(tmp_path) -> None:
    file = workbook(tmp_path, ("Order", "Name"), (1, "Anna"), before=True)
    assert file.orders[0].words.name == "Anna"
    assert "'Week 12'" in next(p.says for p in file.problems if p.code == "sheet")


@pytest.mark.source("ECMA-376 part 1, 18.8.31: number formats")
@pytest.mark.parametrize(
    ("value", "number_format", "shown"),
    [
        (7, "General", "7"), (7.0, "General", "7"), (1.5, "General", "1.5"), (0.1 + 0.2, "General", "0.3"), (1.5, "0.00", "1.50"), (7, "000", "007"),
        (0.25, "0%", "25%"), (123456789012, "General", "123456789012"), (dt.datetime(2026, 3, 4), "dd/mm/yyyy", "04/03/2026"),
        (dt.datetime(2026, 3, 4), "yyyy-mm-dd", "2026-03-04"), (dt.datetime(2026, 3, 4), "d mmmm yyyy", "4 March 2026"), (dt.datetime(2026, 3, 4), "d-mmm-yy", "4-Mar-26"),
        (dt.datetime(2026, 3, 4, 15, 7), "d.m.yy h:mm", "4.3.26 15:07"), (dt.datetime(2026, 3, 4, 15, 7), 'dddd" at "h:mm AM/PM', "Wednesday at 3:07 PM"),
        (dt.datetime(2026, 3, 4), "[$-809]dd\\.mm\\.yyyy;@", "04.03.2026"), (True, "General", "TRUE"),
    ],
)  # fmt: skip
def test_numbers_and_days_as_people_see_them(tmp_path, value: object, number_format: str, shown: str) -> None:
    """Formats by ECMA-376 part 1, section 18.8.31."""
    file = workbook(tmp_path, ("Order", "Message"), (1, value), formats={"B2": number_format})
    (order,) = file.orders
    assert order.received.message == shown
    is_odd = isinstance(value, bool | dt.datetime)
    assert ("not-text" in codes(order, "look")) == is_odd


def test_a_day_in_the_due_column_needs_no_guess(tmp_path) -> None:
    file = workbook(
        tmp_path, ("Order", "Name", "Due"), (1, "Anna", dt.datetime(2026, 3, 4)), formats={"C2": "yyyy-mm-dd"}
    )
    assert (file.orders[0].due, file.orders[0].problems) == ("2026-03-04", ())


def test_a_day_in_the_due_column_is_a_day_whatever_its_format(tmp_path) -> None:
    file = workbook(
        tmp_path, ("Order", "Name", "Due"), (1, "Anna", dt.datetime(2026, 3, 4)), formats={"C2": "dd/mm/yy"}
    )
    assert (file.orders[0].due, file.orders[0].problems) == ("2026-03-04", ())


def test_a_formula_that_was_never_worked_out_is_told(tmp_path) -> None:
    file = workbook(tmp_path, ("Order", "Name"), (1, '="Anna"&" Ben"'))
    assert codes(file.orders[0], "look") == ["not-text"]
    assert '="Anna"' in file.orders[0].problems[0].says


@pytest.mark.source("ECMA-376 part 1, 22.9.2.19: _x000D_")
def test_characters_that_a_workbook_writes_in_code(tmp_path) -> None:
    """ECMA-376 part 1, section 22.9.2.19: _x000D_ stands for a carriage return."""
    file = workbook(tmp_path, ("Order", "Name"), (1, "Anna_x000D_\nBen"))
    assert file.orders[0].words.name == "Anna\nBen"


# --- whatever comes in ------------------------------------------------------------------------------------------------

ROUGH = st.one_of(
    st.binary(max_size=200),
    st.text(max_size=200).map(lambda t: ("name,message\n" + t).encode("utf-8", "replace")),
    st.text(st.sampled_from("name;,\t\"\n\r|'=:/ Anna02-.&<>é\x00\u200b\ufeff"), max_size=120).map(str.encode),
    st.text(st.sampled_from('"";\n\r12 '), max_size=80).map(
        lambda t: ("order;name;quantity;due;Options\n" + t).encode()
    ),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=300, deadline=None)
@given(ROUGH)
def test_any_bytes_give_orders_or_one_sentence(tmp_path, data: bytes) -> None:
    try:
        file = read(tmp_path, data)
    except OrdersError:
        return
    ids = [(o.id, o.piece) for o in file.orders]
    assert len(ids) == len(set(ids))
    assert all(p.says and p.level in ("note", "look", "hold") for o in file.orders for p in o.problems)


def test_two_thousand_rows_are_no_work(tmp_path) -> None:
    text = "order;name;message\n" + "".join(f"{i};Anna {i};for the long evenings\n" for i in range(2000))
    assert len(read(tmp_path, text).orders) == 2000
