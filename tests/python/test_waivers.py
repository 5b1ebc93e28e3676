"""Findings that somebody accepts as they are."""

import datetime
import json

import pytest
from conftest import saw, saw_with_bypassed_stop

import stopspan


def waiver(rule: str = "stop-cuts", subjects: tuple[str, ...] = ("S2", "Saw")) -> stopspan.Waiver:
    return stopspan.Waiver(
        rule=rule, subjects=subjects, reason="S2 is a test button", name="A. Person", date="2026-11-26"
    )


def checked(*waivers: stopspan.Waiver, rules: tuple[str, ...] = ("stop-cuts",), **options) -> stopspan.Verdict:
    return saw_with_bypassed_stop().check(rules=rules, waivers=waivers, **options)


def test_a_waived_finding_does_not_count_and_says_who_accepted_it_when_and_why():
    before, after = checked(), checked(waiver())
    assert not before.ok and after.ok
    (finding,) = after.findings
    (as_it_was,) = before.findings
    assert (finding.status, finding.otherwise, finding.text) == ("waived", "fails", as_it_was.text)
    assert (finding.witness.acts, finding.repair) == (as_it_was.witness.acts, as_it_was.repair)
    assert after.counts == {"stop-cuts": {"holds": 1, "waived": 1}}
    told = " ".join(after.report().split())
    assert "1. waived (fails): stop-cuts (S2, Saw)" in told
    assert "Accepted by: A. Person, 2026-11-26: S2 is a test button" in told
    assert "Result: of 2 claims, 1 is waived, 1 holds." in told
    (written,) = json.loads(after.to_json())["findings"]
    assert written["waiver"] == {
        "reason": "S2 is a test button",
        "name": "A. Person",
        "date": "2026-11-26",
        "otherwise": "fails",
    }
    assert "waived (fails)" in after._repr_html_()
    assert as_it_was.waiver is None and as_it_was.otherwise == ""


def test_subjects_count_in_any_order_but_all_of_them():
    assert checked(waiver(subjects=("Saw", "S2"))).ok
    for others in (("S2",), ("Saw",), ("S2", "Saw", "ES1"), ("ES1", "Saw")):
        verdict = checked(waiver(subjects=others))
        assert not verdict.ok
        assert [finding.status for finding in verdict.findings] == ["fails", "note"]


def test_a_waiver_that_covers_nothing_is_told():
    verdict = saw().check(rules=["stop-cuts"], waivers=[waiver()])
    assert verdict.ok
    (note,) = verdict.findings
    assert (note.rule, note.status, note.subjects) == ("stop-cuts", "note", ["S2", "Saw"])
    assert "waives nothing: no finding of this rule has just these subjects" in note.text
    assert verdict.counts["stop-cuts"] == {"holds": 2, "note": 1}


def test_a_waiver_of_a_rule_that_is_not_decided_is_not_called_stale():
    verdict = saw().check(rules=["power-return"], waivers=[waiver()])
    assert all(finding.rule != "stop-cuts" for finding in verdict.findings)


def test_what_is_undecided_cannot_be_waived():
    verdict = checked(waiver(), state_budget=1)
    assert not verdict.ok
    assert [finding.status for finding in verdict.findings] == ["undecided", "note"]
    assert "undecided, and what nobody knows nobody can accept" in verdict.findings[1].text


def test_a_note_stays_a_note():
    verdict = saw().check(rules=["single-fault"], waivers=[waiver("single-fault", ("S2", "Saw"))])
    assert {finding.status for finding in verdict.findings} == {"note"}
    assert sum("the finding is a note, which needs no waiver" in finding.text for finding in verdict.findings) == 1


def test_a_fault_against_the_target_can_be_waived():
    weld = waiver("single-fault", ("K1", "ES1", "S2", "Saw"))
    verdict = saw().check(rules=["single-fault"], target="single-fault", waivers=[weld])
    (waived,) = (finding for finding in verdict.findings if finding.status == "waived")
    assert "weld K1" in waived.text
    assert not verdict.ok, "other faults are not waived"


def test_an_installation_keeps_its_waivers(tmp_path, shop):
    shop.recorded = saw_with_bypassed_stop()
    bare = stopspan.Installation("Old saw")
    bare.recorded = saw_with_bypassed_stop()
    bare.waive(waiver())
    bare.save(tmp_path / "saw.xml")
    again = stopspan.load(tmp_path / "saw.xml")
    assert again == bare and bare != stopspan.Installation("Old saw")
    assert [each.reason for each in again.waivers] == ["S2 is a test button"]
    assert again.check(rules=["stop-cuts"]).ok
    with pytest.raises(stopspan.ModelError, match="waiver of stop-cuts: there is one for the same subjects and words already"):
        again.waive(waiver(subjects=("Saw", "S2")))


def test_a_day_may_be_a_date():
    made = stopspan.Waiver(
        rule="chatter", subjects=["K1"], reason="bench test", name="A. Person", date=datetime.date(2026, 2, 1)
    )
    assert made.date == "2026-02-01"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"rule": "stop-hums"}, "no rule 'stop-hums'; known: stop-cuts, "),
        ({"rule": ""}, "it names no rule"),
        ({"subjects": []}, "it has no subjects"),
        ({"subjects": ["S2", "S2"]}, "listed twice"),
        ({"subjects": "S2"}, "must be a list of names"),
        ({"reason": ""}, "it has no reason"),
        ({"reason": "one\ntwo"}, "its reason must be printable text on one line"),
        ({"name": ""}, "it has no name"),
        ({"name": " "}, "its name must be printable text"),
        ({"date": ""}, "it has no date"),
        ({"date": "yesterday"}, "'yesterday' is no date; write it as 2026-11-26"),
        ({"date": "2025-02-29"}, "'2025-02-29' is no date"),
        ({"date": "0000-01-01"}, "is no date"),
        ({"date": 20261126}, "date must be a text"),
    ],
)
def test_a_waiver_that_does_not_say_all_is_refused(change, message):
    good = {"rule": "stop-cuts", "subjects": ["S2"], "reason": "why", "name": "A. Person", "date": "2026-11-26"}
    stopspan.Waiver(**good)
    with pytest.raises(stopspan.ModelError, match=message):
        stopspan.Waiver(**{**good, **change})


def test_a_waiver_in_a_file_is_refused_with_its_line(tmp_path):
    lines = [
        '<installation xmlns="urn:stopspan:installation:1" name="Saw">',
        '  <waiver rule="stop-hums" reason="r" name="n" date="2026-11-26"><subject name="S2"/></waiver>',
        "</installation>",
    ]
    (tmp_path / "saw.xml").write_text("\n".join(lines))
    with pytest.raises(stopspan.FileError, match=r"saw\.xml:2: waiver of stop-hums: no rule 'stop-hums'"):
        stopspan.load(tmp_path / "saw.xml")


def test_a_waiver_with_the_words_that_were_accepted_covers_no_other_finding_of_the_same_subjects():
    # By hand: ES1 that jams and its one contact that comes off are two faults, told of the same subjects.
    def left(says: str) -> list[str]:
        accepted = stopspan.Waiver(
            rule="single-fault", subjects=["ES1", "Saw"], reason="inspected weekly", name="A. Person", date="2026-11-26", says=says
        )
        verdict = saw().check(rules=["single-fault"], target="single-fault", waivers=[accepted], repairs=False)
        return [f.text.split("'")[1] for f in verdict.findings if f.status == "fails" and set(f.subjects) == {"ES1", "Saw"}]

    assert sorted(left("")) == []
    assert left("'jam ES1'") == ["detach ES1"] and left("'detach ES1'") == ["jam ES1"]


def test_a_waiver_ends_when_the_finding_says_something_else(tmp_path):
    accepted = stopspan.Waiver(
        rule="stop-cuts", subjects=["S2", "Saw"], reason="a test button", name="A. Person", date="2026-11-26", says="torque off"
    )
    verdict = checked(accepted)
    assert not verdict.ok
    (note,) = [f for f in verdict.findings if f.status == "note"]
    assert 'waives nothing: what was accepted is no longer what is found: "S2 does not stop Saw' in note.text
    shop = stopspan.Installation("Works")
    shop.waive(accepted)
    with pytest.raises(stopspan.ModelError, match="same subjects and words"):
        shop.waive(accepted)
    shop.save(tmp_path / "works.xml")
    assert [each.says for each in stopspan.load(tmp_path / "works.xml").waivers] == ["torque off"]
