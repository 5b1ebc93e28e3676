"""Sets of rules and the numbers in them."""

import json

import pytest
from conftest import saw, saw_with_bypassed_stop, shed
from lxml import etree

import stopspan
from stopspan.cli import main

XS = {"xs": "http://www.w3.org/2001/XMLSchema"}
SCHEMA = etree.fromstring(stopspan.installation_schema().encode())


def overfed() -> stopspan.Circuit:
    """A coil for 200 V on 230 V: 115 % of its rated voltage."""
    circuit = saw()
    circuit.set_parameter("K1", "coil_voltage_v", 200)
    return circuit


def test_every_set_says_where_it_comes_from_and_knows_its_rules():
    known = {rule.id for rule in stopspan.rules()}
    for each in stopspan.rule_sets():
        assert each.id and each.says and each.country and each.edition and each.source
        assert set(each.rules) <= known
        assert all(each.source_of(rule) for rule in each.rules)
        assert each.limits == {
            "coil_volts_lowest_percent": 85,  # IEC 60947-4-1: 0.85 to 1.10, drop-out from 0.20 (AC) and 0.10 (DC)
            "coil_volts_highest_percent": 110,
            "coil_volts_left_ac_percent": 20,
            "coil_volts_left_dc_percent": 10,
            "coil_volts_out_percent": 60,
            "machine_walk_longest_m": 10,  # no standard has a figure
            "exit_walk_longest_m": 5,
            "stop_height_lowest_m": 0.6,  # ISO 13850 4.3.2: 0.6 m to 1.7 m
            "stop_height_highest_m": 1.7,
            "passage_narrowest_m": 0.6,  # ISO 14122-2, from memory
            "run_down_longest_s": 10,  # HSE information sheet WIS 38, woodworking
        }
    assert [each.id for each in stopspan.rule_sets()] == ["all", "stops", "returns", "uk"]


def test_every_finding_quotes_the_source_of_its_rule_in_the_set():
    for name in ("all", "uk"):
        (used,) = (each for each in stopspan.rule_sets() if each.id == name)
        verdict = saw_with_bypassed_stop().check(rule_set=name)
        assert verdict.rule_set == name and verdict.findings
        assert all(finding.source == used.source_of(finding.rule) for finding in verdict.findings)
    assert "PUWER 1998" in used.source_of("stop-cuts")


def test_a_set_decides_its_rules_and_those_named():
    returns = {"power-return", "release-return", "trip-return", "own-start"}
    assert set(saw().check(rule_set="returns").counts) <= returns
    assert set(saw().check(rule_set="returns", rules=["stop-cuts"]).counts) - returns == {"stop-cuts"}
    assert set(saw().check(rule_set="uk", rules=["stop-cuts"]).counts) == {"stop-cuts"}
    assert set(saw().check(rule_set="uk").counts) == set(saw().check().counts)


def test_an_unknown_set_is_refused():
    with pytest.raises(stopspan.ModelError, match="no rule set 'moon'; known: all, stops, returns, uk"):
        saw().check(rule_set="moon")


def test_a_changed_limit_changes_the_verdict_and_is_told():
    def coil(**limits: float) -> stopspan.Verdict:
        return overfed().check(rules=["coil-volts"], limits=limits)

    usual = coil()
    assert [finding.status for finding in usual.findings] == ["fails"]
    assert "115 %" in usual.findings[0].text and "it may have 110 %" in usual.findings[0].text
    assert coil(coil_volts_highest_percent=116).ok
    still = coil(coil_volts_highest_percent=112)
    assert not still.ok and "it may have 112 %" in still.findings[0].text
    assert still.findings[0].source.endswith("; here with coil_volts_highest_percent 112 instead of 110")
    assert "Changed here: coil_volts_highest_percent 112 instead of 110." in " ".join(still.report().split())
    written = json.loads(still.to_json())["rule_set"]
    assert (written["id"], written["country"]) == ("all", "international")
    assert written["changed_from"] == {"coil_volts_highest_percent": 110}
    assert written["limits"]["coil_volts_highest_percent"] == 112
    assert "Changed here" not in usual.report()


@pytest.mark.parametrize(
    ("name", "value", "message"),
    [
        ("coil_volts_height_percent", 100, "no limit 'coil_volts_height_percent'; known: coil_volts_lowest_percent"),
        ("coil_volts_highest_percent", 99, "coil_volts_highest_percent is 99; allowed is 100 to 200"),
        ("coil_volts_highest_percent", float("nan"), "no finite number"),
    ],
)
def test_a_limit_that_cannot_be_is_refused(name, value, message):
    with pytest.raises(stopspan.ModelError, match=message):
        saw().check(limits={name: value})
    shop = shed()
    with pytest.raises(stopspan.ModelError, match=message):
        shop.set_limit(name, value)
    assert shop == shed()


def test_limits_of_an_installation_are_used_and_kept(tmp_path):
    shop = stopspan.Installation("Saw")
    shop.recorded = overfed()
    assert not shop.check(rules=["coil-volts"]).ok
    shop.set_limit("coil_volts_highest_percent", 116)
    shop.save(tmp_path / "saw.xml")
    again = stopspan.load(tmp_path / "saw.xml")
    assert again == shop and again.limits == {"coil_volts_highest_percent": 116}
    assert again.check(rules=["coil-volts"]).ok


def test_a_file_with_nothing_of_this_says_nothing_of_it(tmp_path):
    shed().save(tmp_path / "shed.xml")
    text = (tmp_path / "shed.xml").read_text()
    assert not any(word in text for word in ("target", "limits", "fault-exclusion", "waiver"))


def words_of_schema(name: str) -> list[str]:
    path = f".//xs:simpleType[@name='{name}']/xs:restriction/xs:enumeration"
    return [each.get("value") for each in SCHEMA.iterfind(path, XS)]


def test_the_schema_knows_the_same_rules_exclusions_and_limits():
    assert words_of_schema("rule") == [rule.id for rule in stopspan.rules()]
    assert words_of_schema("fault-exclusion-name") == [each.id for each in stopspan.fault_exclusions()]
    assert words_of_schema("target") == [str(each) for each in stopspan.Target]
    written = [each.get("name") for each in SCHEMA.iterfind(".//xs:complexType[@name='limits']/xs:attribute", XS)]
    assert sorted(written) == sorted(stopspan.rule_sets()[0].limits)


def test_the_command_line_chooses_set_target_and_exclusions(tmp_path, capsys):
    (tmp_path / "saw.csv").write_text(saw().to_csv())

    def run(*arguments: str) -> tuple[int, dict]:
        code = main(["check", str(tmp_path / "saw.csv"), "--json", *arguments])
        return code, json.loads(capsys.readouterr().out)

    code, verdict = run("--rules", "uk", "--rule", "single-fault")
    assert (code, verdict["rule_set"]["id"], list(verdict["counts"])) == (0, "uk", ["single-fault"])
    code, verdict = run("--rule", "single-fault", "--target", "single-fault", "--exclude", "emergency-stop-mechanics")
    assert code == 1
    assert any(line.startswith("fault exclusion emergency-stop-mechanics: 2 faults") for line in verdict["not_checked"])
    failing = [finding for finding in verdict["findings"] if finding["status"] == "fails"]
    assert failing and not any("detach ES1" in finding["text"] for finding in failing)
