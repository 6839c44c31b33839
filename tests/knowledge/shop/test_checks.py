"""A shop's own tables: what they say, and where they are wrong."""

import io
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.settings import DEMO
from knowledge.assemble import look_at_shop, read_shop, shop_of
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion, ServiceData
from knowledge.errors import FaultyShop
from knowledge.fill.compute import compute_fill_answer
from knowledge.parts.jug import CopperStrip, Jug, Label
from knowledge.parts.ring import Ring
from knowledge.shop.shop import NO_SHOP, Shop

TABLES = ("boxes.csv", "rings.csv", "shelf.csv")
SMALL = {
    "boxes.csv": "id,name,has_rings,yellow_metal\nfirst,First box,,\nsecond,Second box,no,no\n",
    "rings.csv": "box,gears,facing,body\nfirst,1-2,paper,steel\nfirst,3-4,,\n",
    "shelf.csv": "id,name,family,kv40_mm2_s,kv100_mm2_s\njug,A jug,mtf,52,9.1\n",
}


@pytest.fixture
def shop_folder(tmp_path: Path) -> Callable[..., Path]:
    """Makes a small shop folder; each table given takes the place of the small one."""

    def make(**tables: str | bytes | None) -> Path:
        for name, text in {**SMALL, **{f"{table}.csv": text for table, text in tables.items()}}.items():
            if text is not None:
                (tmp_path / name).write_bytes(text if isinstance(text, bytes) else text.encode())
        return tmp_path

    return make


def faults_of(folder: Path, base: KnowledgeBase) -> list[str]:
    """Every fault of a shop folder, as it is printed."""
    with pytest.raises(FaultyShop) as caught:
        read_shop(folder, base)
    return [str(fault) for fault in caught.value.faults]


def test_the_invented_shop_is_sound_and_has_enough_to_show(demo_shop: Shop) -> None:
    assert len(demo_shop.boxes) >= 6
    assert len(demo_shop.shelf) >= 8
    assert all(item.name.startswith("Invented") for item in (*demo_shop.boxes.values(), *demo_shop.shelf.values()))


def test_a_box_has_its_ring_sets_in_their_order(demo_shop: Shop) -> None:
    box = demo_shop.boxes["bench-paper-5"]
    assert box.rings[0] == Ring(gears="1-2", facing="paper", body="sintered-iron", cones=2, condition="new")
    assert [ring.gears for ring in box.rings] == ["1-2", "3-4-5"]
    assert box.service_data == ServiceData(family="mtf", grade="75W-80", note="invented sheet 2")


def test_a_blank_cell_is_not_known_and_no_is_no(base: KnowledgeBase, shop_folder) -> None:
    shop = read_shop(shop_folder(), base)
    assert shop.boxes["first"].yellow_metal is None
    assert shop.boxes["first"].service_data is None
    assert shop.boxes["first"].rings[1] == Ring(gears="3-4")
    assert (shop.boxes["second"].yellow_metal, shop.boxes["second"].rings) == (False, ())


@pytest.mark.parametrize(("has_rings", "rings"), [("", None), ("no", ())])
def test_a_box_without_ring_rows_says_whether_it_has_rings(base, shop_folder, has_rings, rings) -> None:
    folder = shop_folder(boxes=f"id,name,has_rings\nbare,Bare box,{has_rings}\n", rings="box,gears\n")
    assert read_shop(folder, base).boxes["bare"].rings == rings


def test_a_box_that_has_rings_has_a_row_of_them_even_one_that_says_nothing(base, shop_folder) -> None:
    boxes = "id,name,has_rings\nbare,Bare box,yes\n"
    assert read_shop(shop_folder(boxes=boxes, rings="box,gears\nbare,\n"), base).boxes["bare"].rings == (Ring(),)
    (told,) = faults_of(shop_folder(boxes=boxes, rings="box,gears\n"), base)
    assert told.startswith("boxes.csv:2:3: has_rings: says yes, but the table of rings has no row of this box")


def test_an_emptied_table_of_rings_is_told_and_not_taken_for_boxes_that_nobody_knows(base, tmp_path) -> None:
    for path in DEMO.glob("*.csv"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "rings.csv").write_text("box,gears,facing,body,cones,condition\n", encoding="utf-8")
    assert {fault.partition(":")[0] for fault in faults_of(tmp_path, base)} == {"boxes.csv"}


def test_a_jug_on_the_shelf_is_the_jug_a_caller_would_send(demo_shop: Shop) -> None:
    on_shelf = demo_shop.shelf["jug-a"]
    assert isinstance(on_shelf, Jug)
    assert on_shelf.label == Label(family="gl-4", grade="75W-90")
    assert on_shelf.copper_strip == CopperStrip(rating="1b", temperature_c=121, hours=3)
    assert (on_shelf.kv40_mm2_s, on_shelf.kv100_mm2_s, on_shelf.limited_slip) == (92, 14.2, False)
    assert [(point.temperature_c, point.viscosity_mpa_s) for point in on_shelf.brookfield] == [(-40, 118000)]
    assert demo_shop.shelf["jug-i"].copper_strip is None


def semicolons(text: str) -> str:
    """As a spreadsheet saves it where a comma stands before the decimals."""
    return re.sub(r"(\d)\.(\d)", r"\1,\2", text.replace(",", ";"))


def wider(text: str) -> str:
    """With columns and rows on which somebody once stood."""
    return "".join(f"{line},,\n" for line in (*text.splitlines(), "," * text.splitlines()[0].count(",")))


# What spreadsheets offer under "save as": from memory of their dialogues, with the encodings of Python's codecs.
SAVED = {
    "CSV UTF-8": lambda text: text.replace("\n", "\r\n").encode("utf-8-sig"),
    "CSV of Windows": lambda text: semicolons(text).replace("\n", "\r\n").encode("cp1252"),
    "CSV of an old Mac": lambda text: text.replace("\n", "\r").encode(),
    "Unicode text": lambda text: text.replace(",", "\t").replace("\n", "\r\n").encode("utf-16"),
    "Unicode text, the other end first": lambda text: ("\ufeff" + text.replace(",", "\t")).encode("utf-16-be"),
    "text set apart by tabs, decimal comma": lambda text: semicolons(text).replace(";", "\t").encode(),
    "headers in any case": lambda text: re.sub(
        "^.*", lambda found: found[0].title().replace(",", " , "), text
    ).encode(),
    "headers of words": lambda text: re.sub("^.*", lambda found: found[0].replace("_", " ").upper(), text).encode(),
    "empty columns and rows": lambda text: wider(text).encode(),
    "a true minus, as data sheets print it": lambda text: re.sub(r",-(?=\d)", ",−", text).encode(),
    "every cell in quotation marks": lambda text: re.sub(r"([^,\n]+)", r'"\1"', text).encode(),
}


@pytest.mark.parametrize("save", SAVED.values(), ids=SAVED)
def test_tables_as_spreadsheets_save_them_are_read_alike(base, shop_folder, save) -> None:
    tables = {
        name.removesuffix(".csv"): text.replace("First", "Für den").replace("A jug", "Größer")
        for name, text in SMALL.items()
    }
    plain = read_shop(shop_folder(**tables), base)
    assert read_shop(shop_folder(**{name: save(text) for name, text in tables.items()}), base) == plain
    assert plain.boxes["first"].name == "Für den box"
    assert plain.shelf["jug"].kv100_mm2_s == 9.1


# What two spreadsheets made of a typed or imported 1-2 in several countries, saved as text; from memory.
DATES = ("01. Feb", "02. Jan", "2-Jan", "Jan 2", "Jan-02", "02 janv.", "02-ene", "01.02.2025", "1/2/2026", "01/02/25",
         "2025-01-02", "2025-01-02 00:00:00", "02.01.", "44928", "45689,0")  # fmt: skip
# How a shop may write which gears a set serves.
GEARS = ("1-2", "3-4-5", "1/2", "1, 2", "5", "R", "first and second", "5 reverse", "1st", "10-11-12", "1.-2.", "low 3")


@pytest.mark.parametrize("cell", DATES)
def test_gears_that_became_a_date_are_told_with_the_remedy(base, shop_folder, cell: str) -> None:
    (told,) = faults_of(shop_folder(rings=RING.replace("1-2", f'"{cell}"')), base)
    assert told.startswith("rings.csv:2:2: gears: looks like a date that a spreadsheet made of gears such as 1-2; make")
    assert "text" in told


@pytest.mark.parametrize("cell", GEARS)
def test_gears_in_the_words_of_a_shop_are_no_date(base, shop_folder, cell: str) -> None:
    shop = read_shop(shop_folder(rings=RING.replace("1-2", f'"{cell}"')), base)
    assert shop.boxes["first"].rings[0].gears == cell


def test_lines_without_anything_in_them_are_passed_over(base: KnowledgeBase, shop_folder) -> None:
    spaced = SMALL["shelf.csv"].replace("\njug,", "\n\n,,,,\njug,") + ",,,,\n"
    assert read_shop(shop_folder(shelf=spaced), base) == read_shop(shop_folder(), base)


def test_the_digest_changes_with_the_content_and_not_with_its_writing(base: KnowledgeBase, shop_folder) -> None:
    before = read_shop(shop_folder(), base).digest
    assert read_shop(shop_folder(shelf=SMALL["shelf.csv"].replace("A jug", '"A jug"')), base).digest == before
    assert read_shop(shop_folder(shelf=SMALL["shelf.csv"].replace("9.1", "9.2")), base).digest != before
    assert NO_SHOP.digest != before


def zipped(text: str) -> bytes:
    """The file of a spreadsheet by its make: a ZIP archive (ISO/IEC 29500-2)."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("xl/workbook.xml", text)
    return held.getvalue()


BOX, RING, JUG = (SMALL[name] for name in TABLES)
FAULTS = [
    ("rings", RING.replace("paper", "papr"), "rings.csv:2:3: facing: 'papr' is not known; did you mean 'paper'?"),
    ("rings", RING.replace("steel", "tin"), "rings.csv:2:4: body: 'tin' is not known; there are bronze, steel"),
    ("rings", RING + "frist,5,,\n", "rings.csv:4:1: box: 'frist' is not known; did you mean 'first'?"),
    ("rings", RING + "second,5,,\n", "rings.csv:4:1: box: the table of boxes says that 'second' has no rings"),
    ("rings", RING + "first,5,,\n" * 11, "rings.csv:14:1: box: 'first' has more than 12 ring sets"),
    ("boxes", BOX.replace("First box,,", "First box,perhaps,"), "boxes.csv:2:3: has_rings: must be yes or no"),
    ("boxes", BOX + "first,Again,,\n", "boxes.csv:4:1: id 'first' stands already in line 2"),
    ("boxes", BOX + "Third Box,Third,,\n", "boxes.csv:4:1: id: must be small letters and digits"),
    ("boxes", BOX + ",Third,,\n", "boxes.csv:4:1: id: must not be blank"),
    ("boxes", BOX.replace("id,name", "id,nam"), "boxes.csv:1:2: column 'nam' is not wanted here; did you mean 'name'?"),
    ("boxes", BOX.replace("id,name", "id,nam"), "boxes.csv:1:1: column 'name' is missing"),
    ("boxes", BOX.replace("First box", '"First box'), "boxes.csv:2:1: a quotation mark is not closed"),
    ("boxes", BOX.replace("no,no\n", "no,no,more\n"), "boxes.csv:3:5: has 5 cells, the header has 4"),
    ("boxes", '"id,name\n', "boxes.csv:1:1: a quotation mark is not closed"),
    ("shelf", semicolons(JUG).replace("9,1", "14. Feb"), "shelf.csv:2:5: kv100_mm2_s: looks like a date that a spread"),
    ("shelf", semicolons(JUG).replace("52;", "1.052;"), "shelf.csv:2:4: kv40_mm2_s: may have its decimals or its thou"),
    ("shelf", JUG.replace(",", "\t").replace("52\t", "1,052\t"), "shelf.csv:2:4: kv40_mm2_s: may have its decimals or"),
    ("boxes", BOX.replace("yellow_metal", "id"), "boxes.csv:1:4: column 'id' stands twice"),
    ("shelf", JUG.replace("52,", '"1,052",'), "shelf.csv:2:4: kv40_mm2_s: may have its decimals or its thousands set"),
    ("shelf", semicolons(JUG).replace("52;", "1.052,5;"), "shelf.csv:2:4: kv40_mm2_s: may have its decimals or its"),
    ("shelf", semicolons(JUG).replace("52;", "1\N{NO-BREAK SPACE}052,5;"), "shelf.csv:2:4: kv40_mm2_s: may have its"),
    ("shelf", JUG.replace("9.1", "nine"), "shelf.csv:2:5: kv100_mm2_s: must be a number"),
    ("shelf", JUG.replace("9.1", '"9,1"'), "shelf.csv:2:5: kv100_mm2_s: must be a number, with a point before"),
    ("shelf", JUG.replace("9.1", "0.1"), "shelf.csv:2:5: kv100_mm2_s: must be 0.3 or more"),
    ("shelf", JUG.replace("9.1", "nan"), "shelf.csv:2:5: kv100_mm2_s: must be a number that ends"),
    ("shelf", JUG.replace("52,9.1", "9.1,52"), "shelf.csv:2:5: kv100_mm2_s must be below kv40_mm2_s"),
    ("shelf", JUG.replace("52,9.1", "52"), "shelf.csv:2:5: has 4 cells, the header has 5"),
    ("shelf", JUG.replace("A jug", "A\0jug"), "shelf.csv:2:2: name: holds a character that cannot"),
    ("boxes", BOX.replace("First box", '"First\x1b[2J box"'), "boxes.csv:2:2: name: holds a character that cannot"),
    ("shelf", JUG.replace("mtf", "mtff"), "shelf.csv:2:3: family: 'mtff' is not known; did you mean 'mtf'?"),
    ("shelf", JUG.replace("mtf", "EP"), "shelf.csv:2:3: family: 'EP' may mean more than one thing; It may be"),
    ("shelf", "id,name,grade\njug,A jug,75w-9\n", "shelf.csv:2:3: grade: '75w-9' is no grade; did you mean '75W-90'?"),
    ("boxes", "id,name,final_drive\nfirst,A,worm\n", "boxes.csv:2:3: final_drive: 'worm' is not known; there are none"),
    ("boxes", "id,name,box_kind\nfirst,A,sedan\n", "boxes.csv:2:3: box_kind: 'sedan' is not known; there are rear-dri"),
    ("rings", "box,facing,fluid_grade\nfirst,,rubbish\n", "rings.csv:2:3: fluid_grade: 'rubbish' is no grade; "),
    ("shelf", 'id,name\njug,"A jug\n', "shelf.csv:2:1: "),
    ("shelf", "id,name\njug,A jug", "shelf.csv:2:1: the last line does not end with a line break"),
    ("shelf", "id,name,copper_strip_hours\njug,A jug,3\n", "shelf.csv:2:3: copper_strip_hours: means nothing without"),
    ("shelf", "id,name,copper_strip_rating\njug,A jug,5a\n", "shelf.csv:2:3: copper_strip_rating: must be a rating"),
    ("shelf", "id,name,brookfield_mpa_s\njug,A jug,3\n", "shelf.csv:2:3: brookfield_temperature_c and"),
    ("shelf", "id,name\n" + "".join(f"jug-{n},A jug\n" for n in range(101)), "shelf.csv:102:1: this table may hold"),
    ("shelf", "id,name\njug,Grö".encode() + b"\xdfer\n", "shelf.csv:2:2: name: holds what is no text; save the table"),
    ("shelf", b"id,name\njug,A\x81 jug\n", "shelf.csv:2:2: name: holds what is no text; save the table as CSV UTF-8"),
    ("shelf", JUG.encode("utf-16-le"), "shelf.csv:1:1: holds a character that cannot be seen"),
    ("shelf", JUG.encode("utf-16")[:-1], "shelf.csv:2:1: the last line does not end with a line break"),
    ("shelf", b"\0" * 4000, "shelf.csv:1:1: holds a character that cannot be seen"),
    ("shelf", zipped("a table"), "shelf.csv:1:1: is a spreadsheet's own file and no text; save the table as CSV UTF-8"),
    ("shelf", "", "shelf.csv:1:1: the table is empty"),
    ("shelf", None, "shelf.csv:1:1: this table is missing"),
    ("shelf", b" " * 4_000_001, "shelf.csv:1:1: is larger than 4000000 bytes"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "content", "told"), FAULTS, ids=[told[:40] for *_, told in FAULTS])
def test_a_fault_is_told_with_file_line_and_column(base, shop_folder, table, content, told) -> None:
    assert any(fault.startswith(told) for fault in faults_of(shop_folder(**{table: content}), base))


def test_no_point_is_asked_for_where_a_comma_stands_before_the_decimals(base, shop_folder) -> None:
    for number in ("nine", "9,1 mm", "9,1,2"):
        (fault,) = faults_of(shop_folder(shelf=semicolons(JUG).replace("9,1", number)), base)
        assert fault == "shelf.csv:2:5: kv100_mm2_s: must be a number"


def test_the_words_that_people_use_mean_the_same_in_a_table_as_in_a_question(base, shop_folder) -> None:
    boxes = "id,name,duty,service_family,service_grade,final_drive\nFIRST,First,racing,GL4,75w90,Hypoid\n"
    written = shop_folder(
        boxes=boxes,
        rings="box,facing,fluid_family\nFirst,Brass,API GL-4\n",
        shelf="id,name,family,also\njug,A jug,GL4,MT1\n",
    )
    shop = read_shop(written, base)
    box, jug = shop.boxes["first"], shop.shelf["jug"]
    assert (box.duty, box.final_drive, box.service_data.family) == ("competition", "hypoid", "gl-4")
    assert (box.rings[0].facing, box.rings[0].fluid_named.family) == ("bronze", "gl-4")
    assert (jug.label.family, jug.label.also) == ("gl-4", ("mt-1",))


def test_a_table_that_cannot_be_opened_is_a_fault(base: KnowledgeBase, shop_folder) -> None:
    folder = shop_folder(shelf=None)
    (folder / "shelf.csv").mkdir()
    assert faults_of(folder, base) == ["shelf.csv:1:1: cannot be read: Is a directory"]


def test_a_pipe_in_the_place_of_a_table_is_a_fault_and_nothing_to_wait_for(base: KnowledgeBase, shop_folder) -> None:
    folder = shop_folder(shelf=None)
    os.mkfifo(folder / "shelf.csv")
    assert faults_of(folder, base) == ["shelf.csv:1:1: cannot be read: it is no regular file"]


def test_a_box_said_to_be_without_yellow_metal_has_no_bronze_rings(base: KnowledgeBase, shop_folder) -> None:
    folder = shop_folder(boxes=BOX.replace("First box,,", "First box,,no"), rings=RING.replace("steel", "bronze"))
    assert faults_of(folder, base) == [
        "boxes.csv:2:4: yellow_metal: says no, but line 2 of rings.csv gives this box a ring of it"
    ]


def test_all_faults_are_told_at_once(base: KnowledgeBase, shop_folder) -> None:
    faults = faults_of(shop_folder(boxes=BOX + "A third,,,\n", shelf=JUG.replace("9.1", "nine")), base)
    assert len(faults) == 3


@given(st.data())
def test_a_table_cut_off_within_a_line_is_never_taken_for_a_whole_one(base: KnowledgeBase, data: st.DataObject) -> None:
    files = look_at_shop(DEMO)
    which = data.draw(st.integers(0, 2))
    whole = files[which].content
    cut = data.draw(st.integers(0, len(whole) - 1).filter(lambda at: whole[at - 1 : at] != b"\n"))
    torn = (*files[:which], files[which]._replace(content=whole[:cut]), *files[which + 1 :])
    with pytest.raises(FaultyShop):
        shop_of(torn, base)


@given(st.sampled_from(range(3)), st.binary(max_size=300))
def test_whatever_stands_in_a_table_is_read_or_told(base: KnowledgeBase, which: int, content: bytes) -> None:
    files = list(look_at_shop(DEMO))
    files[which] = files[which]._replace(content=content)
    try:
        shop_of(files, base)
    except FaultyShop as error:
        assert error.faults


NUMBERS = {
    "kv40_mm2_s": (0.3, 2e6),
    "kv100_mm2_s": (0.3, 2e6),
    "kv100_sheared_mm2_s": (0.3, 2e6),
    "t150_c": (-60, 200),
    "brookfield_temperature_c": (-60, 200),
    "brookfield_mpa_s": (0.1, 1e7),
    "copper_strip_temperature_c": (-60, 200),
    "density15_kg_m3": (700, 1200),
    "litres": (0, 10_000),
}


@settings(deadline=None, max_examples=30)
@given(
    st.fixed_dictionaries({}, optional={name: st.floats(*span) for name, span in NUMBERS.items()}),
    st.fixed_dictionaries(
        {}, optional={"family": st.sampled_from(("gl-4", "atf")), "grade": st.sampled_from(("75W-90", "90", "?"))}
    ),
    st.sampled_from(("", "1b", "4a")),
)
def test_whatever_stands_on_the_shelf_is_judged_or_told(base: KnowledgeBase, numbers, label, strip: str) -> None:
    row = {"id": "jug", "name": "A jug", **numbers, **label, "copper_strip_rating": strip}
    text = f"{','.join(row)}\n{','.join(map(str, row.values()))}\n"
    boxes, rings, shelf = look_at_shop(DEMO)
    try:
        shop = shop_of((boxes, rings, shelf._replace(content=text.encode())), base)
    except FaultyShop as error:
        assert all(fault.line == 2 for fault in error.faults)
        return
    (jug,) = compute_fill_answer(FillQuestion(box_ref="bench-paper-5", use_shelf=True), base, shop, detail="full").jugs
    assert jug.shelf_id == "jug"


def test_the_check_in_the_terminal_names_the_place(shop_folder) -> None:
    command = [sys.executable, "-m", "knowledge", "check", "--shop"]
    sound = subprocess.run([*command, str(shop_folder())], capture_output=True, text=True)
    assert (sound.returncode, sound.stderr) == (0, "")
    assert "2 boxes, 1 jugs" in sound.stdout
    broken = subprocess.run(
        [*command, str(shop_folder(shelf=JUG.replace("9.1", "nine")))], capture_output=True, text=True
    )
    assert broken.returncode == 1
    assert "shelf.csv:2:5: kv100_mm2_s: must be a number" in broken.stderr
    dated = shop_folder(rings=semicolons(RING.replace("1-2", "01. Feb")).encode("cp1252"), shelf=JUG)
    told = subprocess.run([*command, str(dated)], capture_output=True, text=True)
    assert (told.returncode, told.stdout) == (1, "")
    assert "rings.csv:2:2: gears: looks like a date" in told.stderr
    nowhere = subprocess.run([*command, "no-such-folder"], capture_output=True, text=True)
    assert nowhere.returncode == 2
    assert "no-such-folder" in nowhere.stderr
