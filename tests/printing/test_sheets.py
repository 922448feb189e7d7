"""The bench sheet, read back from the finished file."""

import io
import re
from datetime import timedelta
from xml.etree import ElementTree

import pypdf
import pytest

from tests import make
from tests.printing.conftest import AT, ON
from tests.printing.reading import (
    drawn,
    pages_of,
    pictures,
    sizes_mm,
    text_of,
    words_mm,
)
from wintering.printing.cautions import AT_THE_FRAME
from wintering.printing.papers import Paper
from wintering.printing.sheets import bench_sheet, limits_on
from wintering.printing.typesetting import Form
from wintering.science.units import c_to_f
from wintering.stays.queries import frame_plan

FLOOR, BENCH = 0, 1


def test_pages_have_the_size_of_the_paper_on_its_long_side(long_frame, printed):
    assert sizes_mm(printed(long_frame, paper=Paper.A4).content) == {(297.0, 210.0)}
    letter = printed(long_frame, paper=Paper.LETTER).content
    assert sizes_mm(letter) == {(279.4, 215.9)}


def test_every_page_says_frame_winter_moment_and_its_number(long_frame, printed):
    sheet = printed(long_frame)
    pages = pages_of(sheet.content)
    assert sheet.pages == len(pages) >= 4
    for n, page in enumerate(pages, start=1):
        assert "Long Frame" in page
        assert "winter 2024/25" in page
        assert "printed Mon 20 Jan 2025, 07:00 (America/New_York)" in page
        assert f"page {n} of {len(pages)}" in page


def test_each_level_has_a_page_and_the_lowest_comes_first(long_frame, printed):
    first, second, third, *_ = pages_of(printed(long_frame).content)
    assert "Level: floor" in first
    assert "Level: bench" in second
    assert "Trees in the order of a walk" in third


@pytest.mark.parametrize(
    ("paper", "scale", "bar_mm", "parts"),
    [(Paper.A4, 20, 25.0, 2), (Paper.LETTER, 25, 20.0, 3)],
)
def test_lengths_on_the_plan_are_to_scale(
    long_frame, printed, paper, scale, bar_mm, parts
):
    sheet = printed(long_frame, paper=paper).content
    assert f"scale 1 : {scale}" in text_of(sheet)
    module = 450 / scale
    assert len(drawn(sheet, width=module, height=module, page=BENCH)) == 12
    outline = drawn(sheet, width=5400 / scale, height=2400 / scale, page=BENCH)
    assert len(outline) == 1
    assert drawn(sheet, width=2700 / scale, height=900 / scale, page=BENCH)
    # The bar's parts of 50 cm.
    assert len(drawn(sheet, width=bar_mm, height=2, page=BENCH)) == parts


def test_pots_lie_where_they_stand(long_frame, printed):
    sheet = printed(long_frame).content
    [frame] = drawn(sheet, width=270, height=120, page=BENCH)
    [pine] = drawn(sheet, width=33, height=22, page=BENCH)
    # 66 × 44 cm in the middle of N1-02b and N1-03b, which begin 45 cm from the left;
    # the back row ends at the frame's upper edge.
    assert pine[0] - frame[0] == pytest.approx((450 + 120) / 20, abs=0.5)
    assert pine[1] - frame[1] == pytest.approx(5 / 20, abs=0.5)
    [elm] = drawn(sheet, width=18, height=18, page=BENCH)
    assert elm[0] - frame[0] == pytest.approx(45 / 20, abs=0.5)
    assert elm[1] - frame[1] == pytest.approx((450 + 45) / 20, abs=0.5)


def test_the_scale_bar_measures_true_on_the_rendered_page(long_frame, printed):
    page = pictures(printed(long_frame).content)[FLOOR].convert("L")
    [bar, _] = sorted(
        drawn(printed(long_frame).content, width=25, height=2, page=FLOOR)
    )
    row = round((bar[1] + bar[3] / 2) * 10)
    dark = [x for x in range(100, 800) if page.getpixel((x, row)) < 128]
    # The first part of 50 cm is filled: 25 mm at 1:20, at ten dots a millimetre.
    filled = [x for x in dark if x < dark[0] + 260]
    assert filled[-1] - filled[0] == pytest.approx(250, abs=5)


def test_the_arrow_turns_to_where_north_lies(long_frame, printed):
    upright = printed(long_frame).content
    assert drawn(upright, width=3.6, height=4, page=FLOOR)
    long_frame.north_deg = 90
    long_frame.save()
    [turned] = drawn(printed(long_frame).content, width=4, height=3.6, page=FLOOR)
    [before] = drawn(upright, width=3.6, height=4, page=FLOOR)
    assert turned[0] > before[0]


def test_a_pot_too_small_for_its_number_shows_its_line_in_the_list(long_frame, printed):
    bench = pages_of(printed(long_frame).content)[BENCH]
    assert "T-001" in bench
    assert "T-003" in bench
    assert "T-004" not in bench
    assert re.search(r"^4$", bench, flags=re.MULTILINE)
    assert "T-004" in text_of(printed(long_frame).content)


def test_numbers_are_16_points_where_they_fit(long_frame, printed):
    sizes = {}

    def note(text, _cm, _tm, _font, size):
        if text.strip():
            sizes[text.strip()] = round(size, 1)

    reader = pypdf.PdfReader(io.BytesIO(printed(long_frame).content))
    reader.pages[BENCH].extract_text(visitor_text=note)
    assert sizes["T-001"] == 16
    assert 8 <= sizes["T-003"] < 16


def test_the_list_follows_the_benches_with_room_for_the_pencil(long_frame, printed):
    listed = pages_of(printed(long_frame).content)[2]
    assert listed.index("T-002") < listed.index("T-001") < listed.index("T-003")
    for word in ("moisture", "water", "note", "place", "owner", "weight"):
        assert word in listed
    assert "N1-02b, N1-03b" in re.sub(r"\s+", " ", listed)
    assert "22 kg" in listed
    assert "? kg" in listed


def test_benches_say_their_load_and_what_was_not_weighed(long_frame, printed):
    text = text_of(printed(long_frame).content)
    assert "carries 32 kg of at most 180 kg, 1 not weighed" in text
    assert "N0 on the floor, headroom 120 cm: no tree stands here." in text
    assert "N1: Free: N1-01b, N1-02f, N1-03f, N1-04b, N1-05f, N1-05b, N1-06f." in text


def test_the_original_script_is_printed_with_real_letters(long_frame, printed):
    sheet = printed(long_frame).content
    assert "Pinus parviflora 五葉松" in text_of(sheet)
    assert b"NotoSansJP" in sheet
    assert "fonts here lack" not in text_of(sheet)


def test_a_letter_that_no_font_has_does_not_keep_the_sheet_back(long_frame, printed):
    make.taxon("Ulmus parvifolia")
    tree = long_frame.benches.get(name="N1").modules.get(label="N1-01f").placements
    elm = tree.get().tree
    elm.original_script = "ᛒᛟᚾ"
    elm.save()
    text = text_of(printed(long_frame).content)
    assert "a box stands for a letter that the fonts here lack" in text
    assert "T-002" in text


def test_owners_are_marks_and_never_names(long_frame, printed):
    text = text_of(printed(long_frame).content)
    assert "CA T-001" in text
    assert "Sandoral" not in text


def test_temperatures_are_printed_in_both_units(long_frame, printed):
    text = text_of(printed(long_frame).content)
    assert "−1 to 4 °C (30 to 39 °F)" in text
    celsius = text.count("°C")
    pairs = re.findall(r"(−?[\d.]+) °C \((?:−?\d+ to )?(−?\d+) °F\)", text)
    assert celsius == len(pairs) > 4
    for c, f in pairs:
        in_f = c_to_f(float(c.replace("−", "-")))
        assert float(f.replace("−", "-")) == pytest.approx(in_f, abs=0.51)


def test_unknown_limits_are_said_to_be_unknown(long_frame, printed):
    listed = pages_of(printed(long_frame, limits={}).content)[2]
    assert listed.count("not known") == 4
    assert "Root classes" not in text_of(printed(long_frame, limits={}).content)


def test_a_tree_repotted_this_year_is_listed_with_its_class(long_frame, printed):
    # Root work not known counts as this year: class RD, act at -3 °C (27 °F).
    text = text_of(printed(long_frame).content)
    assert "RD −3 °C (27 °F)" in text
    assert "watch at −1 °C (30 °F), act at −3 °C (27 °F) in the root zone" in text


def test_cautions_are_printed_with_their_sources(long_frame, printed):
    text = text_of(printed(long_frame).content).replace("- ", "-")
    for caution in AT_THE_FRAME:
        assert caution.text in text
        assert caution.source in text


def test_the_lifting_limit_is_that_of_the_published_equation():
    # Revised NIOSH lifting equation (NIOSH 94-110, rev. 2021): 23 kg times the
    # multipliers for 40 cm reach, 20 cm start, 60 cm lift, no twist, a poor grip.
    limit = 23 * (25 / 40) * (1 - 0.003 * abs(20 - 75)) * (0.82 + 4.5 / 60) * 0.9
    assert limit == pytest.approx(9.7, abs=0.05)
    assert "9.7 kg" in AT_THE_FRAME[0].text


def test_fittings_stand_on_the_plan_as_words(long_frame, printed):
    floor = pages_of(printed(long_frame).content)[FLOOR]
    assert "door" in floor
    assert "pipe outlet" in floor


def test_a_benchs_caption_makes_room_for_a_fittings_word(long_frame, printed):
    long_frame.fittings.filter(kind="outlet").update(y_cm=130)
    sheet = printed(long_frame).content
    outlet = words_mm(sheet, "pipe outlet", page=BENCH)
    caption = words_mm(sheet, "N1: 75 cm up", page=BENCH)
    share_a_line = caption[1] < outlet[3] and outlet[1] < caption[3]
    assert share_a_line
    assert caption[0] > outlet[2]


def test_the_same_plan_and_instant_give_the_same_bytes(long_frame, printed):
    first = printed(long_frame).content
    assert printed(long_frame).content == first
    later = printed(long_frame, made_at=AT + timedelta(minutes=1)).content
    assert later != first


def test_the_file_can_be_read_aloud(long_frame, printed):
    root = pypdf.PdfReader(io.BytesIO(printed(long_frame).content)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()


def test_names_are_never_taken_for_instructions(long_frame, printed):
    hostile = '#panic("no") *bold* $x$ #read("plan.typ") <script>'
    elm = make.tree(taxon=make.taxon("Ulmus glabra"), cultivar=hostile)
    free = long_frame.benches.get(name="N0").modules.first()
    make.placement(tree=elm, modules=[free])
    assert '#panic("no") *bold* $x$' in text_of(printed(long_frame).content)


def test_an_svg_is_one_tall_page_with_everything_on_it(long_frame, printed):
    sheet = printed(long_frame, form=Form.SVG)
    root = ElementTree.fromstring(sheet.content)
    width, height = (float(root.get(side)[:-2]) for side in ("width", "height"))
    assert sheet.pages == 1
    assert width == pytest.approx(297 / 25.4 * 72, abs=0.1)
    assert height > 1.5 * width
    assert printed(long_frame, form=Form.SVG).content == sheet.content


def test_a_frame_without_benches_says_so(printed, db):
    text = text_of(printed(make.frame(name="New pit")).content)
    assert "No bench of this frame has been described yet." in text


def test_statements_do_not_grow_with_the_trees(
    long_frame, django_assert_max_num_queries
):
    def sheet():
        plan = frame_plan(long_frame, ON)
        bench_sheet(plan, limits=limits_on(plan), made_at=AT)

    with django_assert_max_num_queries(14) as few:
        sheet()
    for module in list(long_frame.benches.get(name="N0").modules.all())[:8]:
        make.placement(tree=make.tree(), modules=[module])
    with django_assert_max_num_queries(len(few)):
        sheet()
