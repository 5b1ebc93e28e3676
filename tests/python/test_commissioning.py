"""The commissioning list, filled in on site, read back, and kept for the next interval."""

import csv
import datetime
import io

import lxml.etree
import pytest
from conftest import shed

import stopspan
from stopspan import cli


def filled_in(shop, results):
    """The list as somebody hands it back. `results`: line of the list -> what was written into its boxes."""
    made = shop.lists()["commissioning"]
    table = io.StringIO()
    writer = csv.writer(table)
    writer.writerow(made.columns)
    for row in made.rows:
        row[-4:] = results.get(row[0], row[-4:])
        writer.writerow(row)
    return table.getvalue()


def line(shop, test, device, machine):
    made = shop.lists()["commissioning"]
    return next(row[0] for row in made.rows if row[1:4] == [test, device, machine])


def test_results_stay_with_the_installation(tmp_path):
    shop = shed()
    cut = line(shop, "stop-cuts", "ES1", "Lathe")
    back = line(shop, "power-return", "", "Lathe")
    results = {cut: ["pass", "3.5", "A. Miller", "2026-03-02"], back: ["fail", "", "A. Miller", "2026-03-02"]}
    (tmp_path / "done.csv").write_text(filled_in(shop, results), encoding="utf-8")
    assert shop.record_commissioning(tmp_path / "done.csv") == 2
    shop.save(tmp_path / "shed.xml")
    again = stopspan.load(tmp_path / "shed.xml")
    assert again == shop
    kept = [
        (each.test, each.device, each.machine, each.result, each.run_down_s, each.name, each.date)
        for each in again.test_records
    ]
    assert kept == [
        ("stop-cuts", "ES1", "Lathe", "pass", 3.5, "A. Miller", "2026-03-02"),
        ("power-return", "", "Lathe", "fail", None, "A. Miller", "2026-03-02"),
    ]
    schema = lxml.etree.XMLSchema(lxml.etree.fromstring(stopspan.installation_schema().encode()))
    schema.assertValid(lxml.etree.parse(tmp_path / "shed.xml"))


def test_the_next_list_says_what_the_last_trial_gave():
    shop = shed()
    for date, seconds in ((datetime.date(2027, 1, 5), 4.0), ("2026-03-02", 3.5)):
        shop.record(
            stopspan.TestRecord(
                test="stop-cuts", device="ES1", machine="Lathe", result="pass", run_down_s=seconds, name="B", date=date
            )
        )
    made = shop.lists()["commissioning"]
    said = {tuple(row[1:4]): row[made.columns.index("last_time")] for row in made.rows}
    assert said["stop-cuts", "ES1", "Lathe"] == "2027-01-05 pass, 4 s"
    assert sum(bool(text) for text in said.values()) == 1


@pytest.mark.parametrize(
    ("boxes", "message"),
    [
        (["ok", "", "A", "2026-03-02"], "result of a trial 'ok'"),
        (["", "3", "", ""], "leave the whole row open"),
        (["pass", "soon", "A", "2026-03-02"], "'soon' is no number"),
        (["pass", "-1", "A", "2026-03-02"], "run_down_s"),
        (["pass", "", "", "2026-03-02"], "no name"),
        (["pass", "", "A", "2.3.2026"], "no date"),
    ],
)
def test_a_row_that_cannot_be_read_is_refused_with_its_line(tmp_path, boxes, message):
    shop = shed()
    before = stopspan.load(saved(shop, tmp_path))
    (tmp_path / "done.csv").write_text(
        filled_in(shop, {"1": ["pass", "", "A", "2026-03-02"], "3": boxes}), encoding="utf-8"
    )
    with pytest.raises(stopspan.FileError, match=message) as refused:
        shop.record_commissioning(tmp_path / "done.csv")
    assert refused.value.line == 4
    assert shop == before


def saved(shop, folder):
    shop.save(folder / "before.xml")
    return folder / "before.xml"


def test_the_same_list_is_not_recorded_twice(tmp_path):
    shop = shed()
    (tmp_path / "done.csv").write_text(filled_in(shop, {"1": ["pass", "", "A", "2026-03-02"]}), encoding="utf-8")
    shop.record_commissioning(tmp_path / "done.csv")
    with pytest.raises(stopspan.FileError, match="recorded for 2026-03-02 already"):
        shop.record_commissioning(tmp_path / "done.csv")
    assert len(shop.test_records) == 1


def test_a_table_of_something_else_is_refused(tmp_path):
    (tmp_path / "wires.csv").write_text(shed().lists()["wires"].to_csv(), encoding="utf-8")
    with pytest.raises(stopspan.FileError, match="no column 'test'"):
        shed().record_commissioning(tmp_path / "wires.csv")


def test_the_command_writes_lists_and_takes_them_back(tmp_path, capsys):
    shop = shed()
    shop.save(tmp_path / "shed.xml")
    assert cli.main(["lists", str(tmp_path / "shed.xml"), str(tmp_path / "lists")]) == 0
    untouched = tmp_path / "lists" / "commissioning.csv"
    assert cli.main(["record", str(tmp_path / "shed.xml"), str(untouched)]) == 0
    done = filled_in(shop, {"1": ["pass", "", "A", "2026-03-02"], "2": ["fail", "", "A", "2026-03-02"]})
    untouched.write_text(done, encoding="utf-8")
    assert cli.main(["record", str(tmp_path / "shed.xml"), str(untouched)]) == 1
    assert "2 results recorded, 1 of them fail" in capsys.readouterr().out
    assert len(stopspan.load(tmp_path / "shed.xml").test_records) == 2
