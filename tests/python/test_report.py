import csv
import io
import json
from types import SimpleNamespace

import circuit_data
from conftest import saw, saw_with_bypassed_stop, shed
from lxml import etree, html

from stopspan import report
from stopspan.tables import text_table, text_table_in_blocks


def test_a_table_lines_up():
    assert text_table(["a", "long"], [["1", "x"], ["22", "y"]]) == "a   long\n--  ----\n1   x\n22  y"


def test_a_wide_table_goes_on_below_with_its_first_column():
    table = text_table_in_blocks(["stop", "Mill", "Press", "Saw"], [["ES1", "cuts", "cuts", "."]], width=18)
    assert table.split("\n\n") == ["stop  Mill  Press\n----  ----  -----\nES1   cuts  cuts", "stop  Saw\n----  ---\nES1   ."]


def cell(asked, found):
    return SimpleNamespace(asked=asked, found=found)


def test_a_cell_is_marked_exactly_where_it_is_not_what_was_asked():
    assert report.cell_text(cell("cut", "cuts")) == "cuts"
    assert report.cell_text(cell("cut", "spares")) == "spares !"
    assert report.cell_text(cell("cut", "maybe")) == "maybe !"
    assert report.cell_text(cell("keep", "spares")) == "spares"
    assert report.cell_text(cell("keep", "cuts")) == "cuts !"
    assert report.cell_text(cell("keep", "maybe")) == "maybe !"
    assert report.cell_text(cell("free", "cuts")) == "cuts"
    assert report.cell_text(cell("free", "spares")) == "."


def test_the_matrix_as_a_table():
    assert saw_with_bypassed_stop().check().table().splitlines() == [
        "stop  Saw",
        "----  --------",
        "ES1   cuts",
        "S2    spares !",
    ]


def test_the_matrix_as_csv_has_every_cell():
    verdict = saw().check()
    rows = list(csv.DictReader(io.StringIO(verdict.matrix_csv())))
    assert [(row["stop"], row["machine"], row["asked"], row["found"]) for row in rows] == [
        (cell.stop, cell.machine, cell.asked, cell.found) for cell in verdict.matrix
    ]


def test_the_report_keeps_its_width_and_tells_every_finding():
    verdict = saw_with_bypassed_stop().check()
    text = report.verdict_report(verdict, width=72)
    assert max(map(len, text.splitlines())) <= 72
    flat = " ".join(text.split())
    for finding in verdict.findings:
        # Faults with the same consequences stand in one line.
        told = finding.text.partition("' ")[2] if finding.rule == "single-fault" else finding.text
        assert " ".join(told.split()) in flat
        assert finding.source in flat


def headline(text):
    """The sentences between the title and the matrix."""
    return " ".join(text.split("=\n\n", 1)[1].split("\n\n", 1)[0].split())


def test_the_headline_says_how_much_was_not_checked():
    # Twenty rules stand in the design, two of them are of a later version.
    assert headline(saw().check().report()).endswith('. 2 of 20 rules were not checked: see "Not checked".')
    some = saw().check(rules=["stop-cuts"])
    assert headline(some.report()).endswith('. 19 of 20 rules were not checked: see "Not checked".')
    free = saw().check(asked={("ES1", "Saw"): "free", ("S2", "Saw"): "cut"})
    said = "2 of 20 rules were not checked, and 1 stop device was not judged, as nothing is asked of it"
    assert said in headline(free.report())
    assert said in html.fromstring(free._repr_html_()).find(".//p").text_content()


def finding(subjects):
    witness = SimpleNamespace(acts=[], path=[], ends_in="")
    text = "The saw starts."
    return SimpleNamespace(
        rule="own-start", status="note", subjects=subjects, text=text, witness=witness, repair="", source="", waiver=None
    )


def test_a_finding_about_many_names_some_in_its_heading_and_all_below():
    many = [f"ES{i}" for i in range(1, 31)]
    heading, *rest = report._finding_lines(1, finding(many), 72)
    assert heading == "1. note: own-start (ES1, ES2, ES3 and 27 more)"
    assert max(len(line) for part in rest for line in part.splitlines()) <= 72
    assert "All subjects: " + ", ".join(many) in " ".join(" ".join(rest).split())
    few = list(report._finding_lines(1, finding(many[:6]), 72))
    assert few == ["1. note: own-start (ES1, ES2, ES3, ES4, ES5, ES6)", "   The saw starts."]


def test_a_note_about_many_things_that_come_back_keeps_them_all_and_says_a_few():
    name = "estop-in-a-common-neutral"
    verdict = circuit_data.circuit(name).check(asked=circuit_data.asked(name))
    notes = [each for each in verdict.findings if each.status == "note" and "anti-tie-down" in each.text]
    assert len(notes) == 2  # one for each machine: its start button held, a stop or a fuse before it comes back
    for note, machine, own in zip(notes, ("M1", "M2"), ({"S10", "F12"}, {"S20", "F22"}), strict=True):
        *back, last = note.subjects
        assert last == machine and {"G1", "ES1"} | own <= set(back) and len(back) > 6
        assert f"({', '.join(back[:3])} and {len(back) - 3} more)" in note.text
        assert note.subjects == json.loads(verdict.to_json())["findings"][verdict.findings.index(note)]["subjects"]


def test_a_verdict_says_itself_in_a_line():
    assert "1 fails" in repr(saw_with_bypassed_stop().check(rules=["stop-cuts"]))
    assert "hold" in repr(saw().check())


def test_a_verdict_shows_itself_in_a_notebook():
    verdict = saw_with_bypassed_stop().check()
    page = html.fromstring(verdict._repr_html_())
    assert [th.text for th in page.findall(".//table")[0].iter("th")] == ["stop", "Saw"]
    assert "spares !" in [td.text for td in page.iter("td")]
    assert "prove dead" in page.text_content()


def test_text_from_the_user_is_text_in_html():
    shop = shed()
    shop.name = "<b>Shed</b> & Sons"
    page = shop._repr_html_()
    assert "<b>Shed</b> &" not in page and "&lt;b&gt;Shed&lt;/b&gt; &amp; Sons" in page


def test_an_installation_shows_its_parts_and_its_first_sheet():
    page = shed()._repr_html_()
    assert "Lathe, Drill" in page and "<svg" in page


def test_an_installation_half_described_still_shows_itself():
    shop = shed()
    shop.add_area("Loft", outline_m=[(0, 10), (4, 10), (4, 14)])
    shop.add_machine("Planer", area="Loft", at_m=(3, 11), motors=[{"name": "M3", "power_kw": 1}])  # no board feeds it
    assert "Not drawn: " in shop._repr_html_() and "Planer" in shop._repr_html_()


def test_drawings_and_circuits_show_themselves_as_svg():
    drawing = shed().drawing()
    assert len(drawing) == len(drawing.titles) > 1
    for svg in (saw()._repr_svg_(), drawing._repr_svg_(), drawing[0]._repr_svg_()):
        assert etree.fromstring(svg).tag == "{http://www.w3.org/2000/svg}svg"
    assert len(drawing[0]) == 1
