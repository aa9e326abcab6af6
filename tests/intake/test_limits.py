"""Tables that are larger, deeper or stranger than any week: each answered in words, in work that grows with its size.

Seconds are of this process's own work (`process_time`), with bounds several times what they take.
"""

from __future__ import annotations

import io
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from intake_tables import SHOP, codes, one, read, typed

from engrave.intake import OrdersError, OrdersFile, open_table, read_orders
from engrave.intake.cells import due_day, option, quantity, split_options
from engrave.intake.csv_table import csv_tables
from engrave.intake.sheet_table import column_name, spans
from engrave.limits import (
    CELL_LETTERS,
    ORDER_ROWS,
    ORDERS_BYTES,
    ORDERS_COLUMNS,
    ORDERS_LINES,
    ORDERS_ROWS,
    SHEET_UNPACKED,
    SHORT_LETTERS,
    WORDS_LETTERS,
    WORDS_LINES,
)
from tests.promises import promised


def seconds(work: Callable[[], object]) -> float:
    before = time.process_time()
    work()
    return time.process_time() - before


# --- text -------------------------------------------------------------------------------------------------------------


def test_a_row_of_spaces_is_no_work(tmp_path) -> None:
    text = "Order,Name\n1," + " " * 100_000 + "\n2,Anna\n"
    assert seconds(lambda: read(tmp_path, text)) < 2.0
    assert [o.words.name for o in read(tmp_path, text).orders] == ["", "Anna"]


def test_a_heading_of_spaces_and_brackets_is_no_work(tmp_path) -> None:
    text = "Order,Name," + " (" * 50_000 + "\n2,Anna,x\n"
    assert seconds(lambda: read(tmp_path, text)) < 2.0


def test_a_cell_of_one_letter_a_million_times_is_held_with_its_figure(tmp_path) -> None:
    text = "Order,Name\n1," + "m" * 1_000_000 + "\n2,Anna\n"
    assert seconds(lambda: read(tmp_path, text)) < 2.0
    long, anna = read(tmp_path, text).orders
    (told,) = [p for p in long.problems if p.level == "hold"]
    assert (told.code, anna.problems) == ("too-many-words", ())
    assert "1,000,000 letters" in told.says
    assert f"{WORDS_LETTERS.most:,}" in told.says


def test_a_cell_of_ten_million_letters_is_no_fault(tmp_path) -> None:
    text = "Order,Name\n1," + "m" * 10_500_000 + "\n2,Anna\n"
    long, anna = read(tmp_path, text).orders
    assert codes(long, "hold") == ["too-many-words"]
    assert len(long.received.name) == WORDS_LETTERS.most
    assert anna.words.name == "Anna"


@pytest.mark.parametrize(
    "line", ['x","y\n', '"\n', '"",""x"\n', 'a,"b\n', '1,"Anna"\n'], ids=["pairs", "one", "many", "open", "whole"]
)
def test_stray_quotes_on_every_line_take_no_longer_than_their_lines(line: str) -> None:
    """Twenty thousand lines of `x","y` took 43 s."""
    text = "order,name\n" + line * 20_000
    assert seconds(lambda: csv_tables(text)) < 6.0


QUOTED = st.text(st.sampled_from('"",;\n\rab '), max_size=60)


@pytest.mark.source("Python's csv module")
@given(QUOTED)
def test_lines_are_read_as_the_standard_library_reads_them_from_each_beginning(text: str) -> None:
    """A record that begins on a line ends where the library's reader says, the file's end being a record of its own."""
    import csv

    from engrave.intake.csv_table import _ends, _lines

    lines = _lines(text)
    for at, end in enumerate(_ends(lines, ",")):
        reader = csv.reader([*lines[at:], "\x1eend"], delimiter=",")
        next(reader)
        is_open = reader.line_num > len(lines) - at
        assert end == (None if is_open else at + reader.line_num - 1)


def test_rows_of_one_order_that_differ_are_compared_without_pairs(tmp_path) -> None:
    """Twenty thousand rows took over a minute; the first thousand are read, the others held."""
    text = "Order,Name\n" + "".join(f"1,Anna {i}\n" for i in range(20_000))
    assert seconds(lambda: read(tmp_path, text)) < 20.0
    orders = read(tmp_path, text).orders
    assert [o.piece for o in orders] == list(range(1, 20_001))
    assert {tuple(codes(o, "hold")) for o in orders[: ORDER_ROWS.most]} == {()}
    assert {tuple(codes(o, "hold")) for o in orders[ORDER_ROWS.most :]} == {("too-many-rows",)}
    assert f"{ORDER_ROWS.most:,}" in orders[-1].problems[-1].says


@promised("A CSV may hold 100,000 rows.")
def test_a_table_may_hold_as_many_rows_as_the_readme_says(tmp_path) -> None:
    """The headings were counted among them."""
    (tmp_path / "orders.csv").write_text("order,name\n" + "".join(f"{i},Anna\n" for i in range(100_000)), "utf-8")
    assert len(open_table(tmp_path / "orders.csv", SHOP).rows) == 100_000


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"name\n" + b"Anna\n" * (ORDERS_ROWS.most + 1), rf"more than {ORDERS_ROWS.most:,} rows"),
        (b"name\n" + b"\n" * ORDERS_LINES.most, rf"more than {ORDERS_LINES.most:,} lines"),
        (b"name\n" + b"x" * ORDERS_BYTES.most, rf"at most {ORDERS_BYTES.most:,} are read"),
    ],
    ids=["rows", "lines", "bytes"],
)
def test_a_table_that_is_too_large_is_refused_with_the_bound(tmp_path, data: bytes, says: str) -> None:
    def refused() -> None:
        with pytest.raises(OrdersError, match=says):
            read(tmp_path, data)

    assert seconds(refused) < 5.0


def test_a_row_that_runs_too_far_to_the_right_is_held(tmp_path) -> None:
    text = "order,name\n1,Anna" + "," * 400 + "far\n2,Ben" + "," * 100_000 + "\n"
    far, ben = read(tmp_path, text).orders
    assert codes(far, "hold") == ["too-many-columns"]
    assert str(ORDERS_COLUMNS.most) in next(p.says for p in far.problems if p.level == "hold")
    assert (ben.words.name, codes(ben)) == ("Ben", [])


def test_a_row_of_very_many_cells_quotes_only_a_few(tmp_path) -> None:
    (order,) = read(tmp_path, "order,name\n1,Anna" + ",x" * 250 + "\n").orders
    (told,) = [p for p in order.problems if p.code == "too-many-cells"]
    assert len(told.says) < 300
    assert "245 more" in told.says


@pytest.mark.parametrize("field", ["order", "lid", "wood", "quantity", "due", "approved", "matching", "recut", "blank"])
def test_a_cell_that_is_too_long_for_its_column_is_held(tmp_path, field: str) -> None:
    order = one(tmp_path, **{"name": "Anna", field: "9" * (SHORT_LETTERS.most + 1)})
    (told,) = [p for p in order.problems if p.level == "hold"]
    assert told.code == "too-long-cell"
    assert str(SHORT_LETTERS.most) in told.says
    assert f"{SHORT_LETTERS.most + 1:,} letters" in told.says


def test_a_long_remark_and_a_long_cell_that_is_not_read_are_shortened_and_told(tmp_path) -> None:
    order = one(tmp_path, name="Anna", note="n " * 4000, Colour="c" * 40_000)
    assert codes(order, "look") == ["long-cell", "long-cell"]
    assert len(order.extra["Colour"]) == CELL_LETTERS.most
    assert len(order.note) <= 5000


@pytest.mark.parametrize("break_", ["\n", "|", "\u2028"])
def test_too_many_lines_of_words_are_held(break_: str) -> None:
    order = typed(break_.join("a" * (WORDS_LINES.most + 1)))
    assert codes(order, "hold") == ["too-many-words"]
    assert f"{WORDS_LINES.most + 1} lines" in order.problems[0].says
    assert codes(typed(break_.join("a" * WORDS_LINES.most)), "hold") == []


ROUGH = st.sampled_from(["x", " ", "1", "/", ":", "a:", "/ ", "( ", "(+", "-", "'", "é", "\u0301", "|", ". "])


@given(ROUGH, ROUGH, ROUGH)
def test_the_longest_cells_that_are_read_are_no_work(a: str, b: str, c: str) -> None:
    short = (a * (SHORT_LETTERS.most // 2) + b * (SHORT_LETTERS.most // 4) + c * SHORT_LETTERS.most)[
        : SHORT_LETTERS.most
    ]
    assert seconds(lambda: (quantity(short), due_day(short, "dmy"), option(short, {"x": "y"}))) < 0.5
    long = (short * 100)[: CELL_LETTERS.most]
    assert seconds(lambda: split_options(long, {"a": "wood"})) < 0.5


def test_a_cell_full_of_options_is_no_work_and_tells_a_few(tmp_path) -> None:
    order = one(tmp_path, name="Anna", Options="Wood: oak / x: y / Wood: ash / " * 1000)
    assert len(order.problems) < 5
    assert all(len(p.says) < 700 for p in order.problems)


# --- sheets -----------------------------------------------------------------------------------------------------------


def saved(folder: Path, book: openpyxl.Workbook) -> Path:
    path = folder / "orders.xlsx"
    book.save(path)
    return path


def orders_book() -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    for row in (("Order", "Name"), (1, "Anna"), (2, "Ben")):
        book.active.append(row)
    return book


@pytest.mark.parametrize("corner", ["A1048576", "XFD2", "XFD1048576"])
@pytest.mark.parametrize("value", [None, " "])
def test_an_empty_far_corner_costs_nothing(tmp_path, corner: str, value: str | None) -> None:
    """A blank cell in the last row took 40 s, one in the last column as well 1.1 GB."""
    book = orders_book()
    book.active[corner].font = openpyxl.styles.Font(bold=True)
    book.active[corner].value = value
    path = saved(tmp_path, book)
    assert seconds(lambda: read_orders(path, SHOP)) < 2.0
    assert [(o.row, o.words.name, o.problems) for o in read_orders(path, SHOP).orders] == [
        (2, "Anna", ()),
        (3, "Ben", ()),
    ]


def test_a_filled_far_corner_holds_its_row_alone(tmp_path) -> None:
    book = orders_book()
    book.active["XFD3"] = "x"
    book.active["B1048576"] = "Carla"
    file = read_orders(saved(tmp_path, book), SHOP)
    assert [(o.row, codes(o, "hold")) for o in file.orders] == [(2, []), (3, ["too-many-columns"]), (1048576, [])]


def parts_of(book: openpyxl.Workbook) -> dict[str, bytes]:
    out = io.BytesIO()
    book.save(out)
    with zipfile.ZipFile(out) as file:
        return {name: file.read(name) for name in file.namelist()}


def zipped(folder: Path, parts: dict[str, bytes]) -> Path:
    path = folder / "orders.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            file.writestr(name, data)
    return path


def test_a_bomb_is_refused_by_its_size_before_it_is_unpacked(tmp_path) -> None:
    """300 kB that unpack to hundreds of MB: refused by what the package says of its parts, none of which is read."""
    parts = parts_of(orders_book())
    sheet = parts["xl/worksheets/sheet1.xml"]
    parts["xl/worksheets/sheet1.xml"] = sheet.replace(
        b"</sheetData>", b" " * (SHEET_UNPACKED.most + 1) + b"</sheetData>"
    )
    path = zipped(tmp_path, parts)
    assert path.stat().st_size < 200_000

    def refused() -> None:
        with pytest.raises(OrdersError, match=f"unpacks to more than {SHEET_UNPACKED.most:,} bytes"):
            read_orders(path, SHOP)

    assert seconds(refused) < 1.0


def test_a_bomb_in_a_part_that_is_not_read_costs_nothing(tmp_path) -> None:
    parts = parts_of(orders_book()) | {"xl/media/image1.png": b"\0" * (SHEET_UNPACKED.most + 1)}
    path = zipped(tmp_path, parts)
    assert seconds(lambda: read_orders(path, SHOP)) < 1.0
    assert len(read_orders(path, SHOP).orders) == 2


def test_a_bomb_that_lies_about_its_size_is_not_believed(tmp_path) -> None:
    parts = parts_of(orders_book())
    sheet = parts["xl/worksheets/sheet1.xml"]
    long = parts["xl/worksheets/sheet1.xml"] = sheet.replace(
        b"</sheetData>", b" " * (SHEET_UNPACKED.most + 1) + b"</sheetData>"
    )
    path = zipped(tmp_path, parts)
    raw = path.read_bytes()
    path.write_bytes(raw.replace(len(long).to_bytes(4, "little"), len(sheet).to_bytes(4, "little")))

    def refused() -> None:
        with pytest.raises(OrdersError, match="cannot be read"):
            read_orders(path, SHOP)

    assert seconds(refused) < 1.0


@pytest.mark.source("ECMA-376 part 2: no document type in a part")
def test_entities_that_grow_are_refused(tmp_path) -> None:
    """ECMA-376 part 2 allows no document type in a part."""
    parts = parts_of(orders_book())
    doctype = (
        b'<!DOCTYPE w [<!ENTITY a "aaaaaaaaaa">'
        + b"".join(b'<!ENTITY %c "%s">' % (98 + i, b"&%c;" % (97 + i) * 10) for i in range(9))
        + b"]>"
    )
    parts["xl/worksheets/sheet1.xml"] = doctype + parts["xl/worksheets/sheet1.xml"].replace(b"Anna", b"&j;")
    with pytest.raises(OrdersError, match="document type"):
        read_orders(zipped(tmp_path, parts), SHOP)


def test_one_long_string_in_very_many_cells_is_refused_by_its_letters(tmp_path) -> None:
    parts = parts_of(orders_book())
    strings = b"<sst><si><t>Order</t></si><si><t>Name</t></si><si><t>" + b" " * 40_000 + b"</t></si></sst>"
    rels = parts["xl/_rels/workbook.xml.rels"]
    related = b'<Relationship Id="rS" Target="sharedStrings.xml" Type="http://x/sharedStrings"/></Relationships>'
    parts["xl/_rels/workbook.xml.rels"] = rels.replace(b"</Relationships>", related)
    parts["xl/sharedStrings.xml"] = strings
    rows = b"".join(
        b'<row r="%d">%s</row>' % (r, b"".join(b'<c r="%c%d" t="s"><v>2</v></c>' % (65 + i, r) for i in range(20)))
        for r in range(2, 5000)
    )
    head = b'<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c></row>'
    parts["xl/worksheets/sheet1.xml"] = b"<worksheet><sheetData>" + head + rows + b"</sheetData></worksheet>"

    def refused() -> None:
        with pytest.raises(OrdersError, match="letters, as many as are read"):
            read_orders(zipped(tmp_path, parts), SHOP)

    assert seconds(refused) < 5.0


@pytest.mark.source("ECMA-376 part 1, 18.4.4, 18.4.6 and 18.4.8")
def test_strings_that_cells_share_are_read_without_how_they_are_spoken(tmp_path) -> None:
    """ECMA-376 part 1, 18.4.8 (si), 18.4.4 (r) and 18.4.6 (rPh)."""
    parts = parts_of(orders_book())
    rels = parts["xl/_rels/workbook.xml.rels"]
    related = b'<Relationship Id="rS" Target="/xl/strings.xml" Type="http://x/sharedStrings"/></Relationships>'
    parts["xl/_rels/workbook.xml.rels"] = rels.replace(b"</Relationships>", related)
    name = "<si><t>Name</t></si><si><r><t>課</t></r><r><rPr><b/></rPr><t>長 </t></r><rPh sb='0' eb='1'><t>カ</t></rPh></si>"
    parts["xl/strings.xml"] = f"<sst>{name}</sst>".encode()
    cells = (
        b'<row><c t="s"><v>0</v></c></row><row r="5"><c r="A5" t="s"><v>1</v></c></row><row><c t="s"><v>7</v></c></row>'
    )
    parts["xl/worksheets/sheet1.xml"] = b"<worksheet><sheetData>" + cells + b"</sheetData></worksheet>"
    file = read_orders(zipped(tmp_path, parts), SHOP)
    assert [(o.row, o.words.name) for o in file.orders] == [(5, "課長"), (6, "�")]
    assert codes(file.orders[1], "look") == ["lost-letters"]


def test_a_sheet_as_large_as_is_read_takes_seconds(tmp_path) -> None:
    """Half a million cells without anything in them, as formatting leaves them behind."""
    parts = parts_of(orders_book())
    sheet = parts["xl/worksheets/sheet1.xml"]
    blank = b"".join(
        b'<row r="%d">%s</row>' % (r, b"".join(b'<c r="%c%d" s="0"/>' % (65 + i, r) for i in range(20)))
        for r in range(4, 25_000)
    )
    parts["xl/worksheets/sheet1.xml"] = sheet.replace(b"</sheetData>", blank + b"</sheetData>")
    path = zipped(tmp_path, parts)
    assert seconds(lambda: read_orders(path, SHOP)) < 8.0
    assert len(read_orders(path, SHOP).orders) == 2


def test_hidden_rows_and_columns_are_read_with_a_note(tmp_path) -> None:
    book = orders_book()
    book.active.append((3, "Carla"))
    book.active["C1"] = "Message"
    book.active["C4"] = "love"
    book.active.row_dimensions[3].hidden = True
    book.active.column_dimensions["C"].hidden = True
    book.active.column_dimensions["F"].hidden = True
    file = read_orders(saved(tmp_path, book), SHOP)
    assert [(o.words.name, o.words.message, codes(o)) for o in file.orders] == [
        ("Anna", "", []),
        ("Ben", "", ["hidden-row"]),
        ("Carla", "love", []),
    ]
    told = {p.code: p.says for p in file.problems}
    assert told["hidden-rows"].startswith("Row 3 of the sheet is hidden")
    assert told["hidden-columns"].startswith("Column C of the sheet is hidden")


def test_hidden_and_further_sheets_are_not_read(tmp_path) -> None:
    book = orders_book()
    other = book.create_sheet("Old", 0)
    other.append(("Order", "Name"))
    other.append((9, "Nobody"))
    other.sheet_state = "hidden"
    file = read_orders(saved(tmp_path, book), SHOP)
    assert [o.words.name for o in file.orders] == ["Anna", "Ben"]


@pytest.mark.parametrize(("numbers", "says"), [([3], "3"), ([3, 5, 6, 7], "3, 5 to 7"), (list(range(1, 99, 2)), None)])
def test_rows_are_told_in_few_words(numbers: list[int], says: str | None) -> None:
    assert says is None or spans(numbers) == says
    assert len(spans(numbers)) < 80


def test_columns_have_the_letters_that_sheets_give_them() -> None:
    assert [column_name(i) for i in (0, 25, 26, 701, 702, 16383)] == ["A", "Z", "AA", "ZZ", "AAA", "XFD"]
    assert [openpyxl.utils.get_column_letter(i + 1) for i in range(800)] == [column_name(i) for i in range(800)]


SHOWN = [
    (1, "General"), (1.25, "0.00"), (0.5, "0%"), (45000, "dd/mm/yyyy"), (45000.75, "yyyy-mm-dd hh:mm"), (0.75, "h:mm"), (60, "yyyy-mm-dd"),
    (1.5, "[h]:mm"), (-3, "General"), (1e300, "General"), (True, "General"), ("=1+1", "General"), ("text", "@"), ("_x0041_", "General"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "number_format"), SHOWN)
def test_cells_hold_what_a_general_reader_of_sheets_finds_in_them(tmp_path, value: object, number_format: str) -> None:
    """Held against openpyxl's own reading of the same file, for every kind of cell."""
    from engrave.intake.sheet_table import Values, cell_text
    from engrave.intake.workbook import Workbook

    book = openpyxl.Workbook()
    book.active["A1"] = value
    book.active["A1"].number_format = number_format
    path = saved(tmp_path, book)
    theirs = openpyxl.load_workbook(path, data_only=True).active["A1"]
    mine = Workbook(path.read_bytes())
    (row,) = [Values(mine).row(row) for row in mine.rows(mine.sheets[0], set())]
    assert row.cells == (cell_text(theirs.value, theirs.number_format),)


# --- days -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text", ["9999-12-31", "0001-01-01", "31/12/9999", "1899-12-30", "00/01/1900", "1 January 1970", "2101-01-01", "1999-12-31"]
)  # fmt: skip
def test_days_by_which_tables_mean_none(text: str) -> None:
    found = due_day(text, "dmy")
    assert (found.value, found.level) == ("", "note")
    assert "2000 to 2100" in found.says


def test_the_first_and_last_years_of_promises() -> None:
    assert [due_day(text, "dmy").value for text in ("2000-01-01", "2100-12-31")] == ["2000-01-01", "2100-12-31"]


@pytest.mark.parametrize("serial", [0, 1, 59, 60, 61, 2958465, 2958466, 1e9, -1, -700000, 0.5, 1e300])
@pytest.mark.parametrize("number_format", ["dd/mm/yyyy", "h:mm", "[h]:mm:ss"])
def test_every_number_that_a_sheet_may_show_as_a_day_is_answered(tmp_path, serial: float, number_format: str) -> None:
    book = openpyxl.Workbook()
    book.active.append(("Order", "Name", "Due"))
    book.active.append((1, "Anna", serial))
    book.active["C2"].number_format = number_format
    (order,) = read_orders(saved(tmp_path, book), SHOP).orders
    assert (order.due, codes(order)) == ("", ["due"])


# --- one damaged character --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "utf-16"])
def test_one_nul_is_a_matter_of_its_cell(tmp_path, encoding: str) -> None:
    file = read(tmp_path, "Order;Name;Lid\n1;Jos\0é;round\n2;Ben;ro\0und\n3;Carla;\n".encode(encoding))
    jose, ben, carla = file.orders
    assert (jose.words.name, jose.received.name, codes(jose, "look")) == ("José", "Jos\0é", ["control-removed"])
    assert "1 sign that only computers read removed" in jose.problems[0].says
    assert (ben.lid, codes(ben, "look"), codes(carla)) == ("round-caddy", ["control-removed"], [])


def test_a_file_full_of_control_characters_is_no_text(tmp_path) -> None:
    with pytest.raises(OrdersError, match="not text"):
        read(tmp_path, b"name\n" + b"\0\1\2Anna" * 50)


def test_limits_are_all_in_the_one_table() -> None:
    from engrave import limits

    told = [limit for limit in vars(limits).values() if isinstance(limit, limits.Limit)]
    assert {limit.of for limit in told} == {limit.of for limit in (*limits.READING, *limits.ORDERS)}
    assert len({limit.of for limit in told}) == len(told) == len((*limits.READING, *limits.ORDERS))


def test_nothing_is_lost_below_the_bounds(tmp_path) -> None:
    def rows(file: OrdersFile) -> list[str]:
        return [o.received.name for o in file.orders]

    words = "a" * WORDS_LETTERS.most
    assert rows(read(tmp_path, f"name\n{words}\n")) == [words]
