"""Reads the text of a repair and makes the change it tells, with no help of the engine."""

import re

from fault_comparison import told
import stopspan

LINK_REMOVED = re.compile(r"take out the link (\S+) between (.+) and (.+)$")
WIRE_MOVED = re.compile(r"move the wire at (\S+):(\S+) from (.+) to (.+)$")
WIRE_ADDED = re.compile(r"add a wire from (\S+):(\S+) \(net (.+)\) to (.+)$")
EXCHANGED = re.compile(r"wire the contact (\S+):(\w+)-(\w+) in place of (\S+):(\w+)-(\w+) between (.+) and (.+)$")
TAKEN_OUT = re.compile(r"take out the contact (\S+):(\w+)-(\w+) between (.+) and (.+)$")
BRIDGED = re.compile(r"take out the contact (\S+):(\w+)-(\w+), and join (.+) and (.+) where it stood$")
POLE_EARTHED = re.compile(r"earth the pole (\w+) of (\S+) \(net (.+?)\)(?: instead of (\w+))?$")
WATCHED = re.compile(r"add an insulation monitor (\S+) between (\S+) and PE$")
DOUBLED = re.compile(
    r"add an? (\S+) (\S+) like (\S+), its (?:coil beside \S+'s and its )?contacts (.+) in series behind those of \S+$"
)
PARTED = re.compile(
    r"take out the link (\S+) between (.+) and (.+), and add a (\S+) (\S+) like (\S+), its coil from (.+) to (.+) and its contacts "
    r"(.+) beside those of (\S+)$"
)
LAID = re.compile(r"lay the cable (\S+) with (\S+) mm2 instead of (\S+) mm2$")
LOWERED = re.compile(r"lower the resistance of (\S+) from (\S+) to (\S+) ohm, of conductors by thicker or shorter ones$")
TURNED = re.compile(
    r"move the coil of (\S+) to the end of its line: join (.+) and (.+) where it stood, take (.+) off (.+) and wire it to "
    r"\S+:A1, and wire \S+:A2 to (.+)$"
)
PER_COIL = re.compile(
    r"take out the contact (\S+):(\w+)-(\w+), join (.+) and (.+) where it stood, and put one in series in the line of "
    r"each coil: (.+)$"
)
AHEAD_OF_COIL = re.compile(r"(\S+):(\w+)-(\w+) ahead of (\S+):A1 \(net (.+)\)$")
NEW_COIL = re.compile(r"give (\S+) a coil for (\S+) V, and move the wire at (\S+):A2 from (.+) to (.+)$")
START_RELAY = re.compile(
    r"add a (relay|contactor) (\S+) with a coil like (\S+)'s(?: that returns straight to (\S+))?, fed from (.+) through a break contact "
    r"(\S+):(\w+)-(\w+) and beside that through its own contact 13-14(?: in series with "
    r"(a (?:break|make) contact .+?))?((?:, and its (?:contact|pole) \w+-\w+ in series behind \S+:\w+ \(net [^)]+\))+)$"
)
GUARDED = re.compile(r", and its (?:contact|pole) (\w+)-(\w+) in series behind (\S+):(\w+) \(net ([^)]+)\)")
SECOND_ROW = "add a second row: "
PIECE = re.compile(r"(?:a fuse (\S+) like (\S+)|(\S+):(\w+)-(\w+)) from (.+) to (.+)$")
ROW_TWIN = re.compile(
    r"an? (\S+) (\S+) like (\S+), its (?:coil from (.+) to (.+) and its )?contacts (.+) in series behind those of (\S+)$"
)
SHIELDED = ", with a shield of its own joined to earth for "
EXCLUDED = re.compile(rf"meet the conditions? of the fault exclusions? (.+) and name (?:it|them)(?:{SHIELDED}.+)?$")
CONTACT = re.compile(
    r"(move the|add a) contact (\S+):(\w+)-(\w+)(?: to stand)? in series (?:ahead of|behind) (\S+):(\w+) \(net ([^)]+)\)"
    r"(?:, and join (.+) and (.+) where it stood)?$"
)

Table = dict[str, tuple[str, dict[str, str], dict]]


def table(circuit: stopspan.Circuit) -> Table:
    return {d.designation: (d.kind, dict(d.terminals), dict(d.parameters)) for d in circuit.devices}


def join(wired: Table, net: str, into: str) -> None:
    for _, terminals, _ in wired.values():
        terminals.update({name: into for name, on in terminals.items() if on == net})


def row_pieces(repair: str) -> list[str]:
    pieces = repair.removeprefix(SECOND_ROW).split("; ")
    return [*pieces[:-1], pieces[-1].removeprefix("and ")]


def add_second_row(wired: Table, repair: str) -> None:
    twins = {found[2]: found for found in map(ROW_TWIN.match, row_pieces(repair)) if found}
    assert twins and not {*twins} & {*wired}, repair
    made: Table = {}
    for twin, found in twins.items():
        kind, _, old, feed, back, contacts, same = found.groups()
        assert wired[old][0] == kind and old == same and wired[old][1].get("A2") == back, repair
        terminals = {"A1": feed, "A2": back} if feed else {}
        for first, second in (contact.split("-") for contact in contacts.split(", ")):
            terminals[first], terminals[second] = f"{old} between {first}", wired[old][1][second]
            wired[old][1][second] = f"{old} between {first}"
        made[twin] = (kind, terminals, wired[old][2])
    for piece in row_pieces(repair):
        if ROW_TWIN.match(piece):
            continue
        fuse, like, device, first, second, start, end = PIECE.match(piece).groups()
        if fuse:
            assert wired[like][0] == "fuse" and fuse not in wired, repair
            made[fuse] = ("fuse", {"1": start, "2": end}, wired[like][2])
            continue
        terminals = (made if device in made else wired)[device][1]
        assert not {first, second} & {*terminals}, repair
        terminals.update({first: start, second: end})
    wired.update(made)


def add_start_relay(
    wired: Table, repair: str, kind: str, relay: str, coil: str, back: str | None, rail: str, start: str, first: str, second: str,
    locks: str | None, guarded: str,
) -> None:
    assert relay not in wired and rail in wired[start][1].values() and not {first, second} & {*wired[start][1]}, repair
    usual = next(wired[coil][1][end] for end in ("A2", "C2") if end in wired[coil][1])
    assert back != usual, repair
    wired[start][1].update({first: rail, second: "relay"})
    ends = {"A1": "relay", "A2": back or usual, "13": rail}
    held = "held"
    for number, lock in enumerate(locks.split(", ") if locks else []):
        owner, lock_in, lock_out = re.match(r"a (?:break|make) contact (\S+):(\w+)-(\w+)$", lock).groups()
        assert not {lock_in, lock_out} & {*wired[owner][1]}, repair
        ends.setdefault("14", held)
        wired[owner][1].update({lock_in: held, lock_out: (held := f"held {number}")})
    last = [(terminals, end) for _, terminals, _ in wired.values() for end, net in terminals.items() if net == held]
    for terminals, end in last:
        terminals[end] = "relay"
    ends.setdefault("14", "relay")
    for own_in, own_out, same, behind, net in GUARDED.findall(guarded):
        assert same == start and wired[start][1][behind] == net, repair
        wired[start][1][behind] = ends[own_in] = f"behind {start}:{behind}"
        ends[own_out] = net
    about_coils = {"coil_voltage_v", "coil_current", "hold_va", "hold_w", "inrush_va"}
    wired[relay] = (kind, ends, {k: v for k, v in wired[coil][2].items() if k in about_coils})


def applied(circuit: stopspan.Circuit, repair: str) -> stopspan.Circuit:
    if repair.startswith("first "):
        first, then = repair.removeprefix("first ").split("; then ")
        return applied(applied(circuit, first), then)
    wired = table(circuit)
    if found := POLE_EARTHED.match(repair):
        pole, supply, net, instead = found.groups()
        assert wired[supply][1][pole] == net and wired[supply][2].get("earthed_pole") == instead, repair
        wired[supply][2]["earthed_pole"] = pole
    elif found := WATCHED.match(repair):
        monitor, net = found.groups()
        assert monitor not in wired, repair
        wired[monitor] = ("insulation-monitor", {"L": net, "PE": "PE"}, {})
    elif found := TURNED.match(repair):
        coil, ahead, behind, ends, pole, same = found.groups()
        assert pole == same and [wired[coil][1][end] for end in ("A1", "A2")] == [ahead, behind], repair
        for end in ends.split(", "):
            device, terminal = end.split(":")
            assert wired[device][1][terminal] == pole, repair
            wired[device][1][terminal] = "end of the line"
        wired[coil][1].update(A1="end of the line", A2=pole)
        join(wired, behind, ahead)
    elif found := PER_COIL.match(repair):
        owner, first, second, pole, back, places = found.groups()
        assert {wired[owner][1].pop(first), wired[owner][1].pop(second)} == {pole, back}, repair
        join(wired, back, pole)
        for place in places.split(", "):
            same, first, second, coil, net = AHEAD_OF_COIL.match(place).groups()
            assert same == owner and not {first, second} & {*wired[owner][1]} and wired[coil][1]["A1"] == net, repair
            wired[owner][1].update({first: net, second: f"ahead of {coil}"})
            wired[coil][1]["A1"] = f"ahead of {coil}"
    elif found := NEW_COIL.match(repair):
        coil, volts, same, net, to = found.groups()
        assert coil == same and wired[coil][1]["A2"] == net, repair
        wired[coil][2]["coil_voltage_v"] = float(volts)
        wired[coil][1]["A2"] = to
    elif found := DOUBLED.match(repair):
        kind, twin, old, contacts = found.groups()
        assert wired[old][0] == kind and twin not in wired, repair
        terminals = {end: net for end, net in wired[old][1].items() if end in ("A1", "A2")}
        for first, second in (contact.split("-") for contact in contacts.split(", ")):
            terminals[first], terminals[second] = f"between {first}", wired[old][1][second]
            wired[old][1][second] = f"between {first}"
        wired[twin] = (kind, terminals, wired[old][2])
    elif found := LAID.match(repair):
        cable, csa_mm2, before = found.groups()
        assert wired[cable][2]["csa_mm2"] == float(before), repair
        wired[cable][2]["csa_mm2"] = float(csa_mm2)
    elif found := LOWERED.match(repair):
        resistor, before, ohm = found.groups()
        assert wired[resistor][2]["resistance_ohm"] == float(before), repair
        wired[resistor][2]["resistance_ohm"] = float(ohm)
    elif found := PARTED.match(repair):
        link, *nets, kind, twin, like, line, back, contacts, same = found.groups()
        assert list(wired.pop(link)[1].values()) == nets and line in nets and like == same and twin not in wired, repair
        ends = wired[like][1]
        assert wired[like][0] == kind and ends["A2"] == back, repair
        made = {"A1": line, "A2": back}
        for end in contacts.replace("-", ", ").split(", "):
            made[end] = ends[end]
        assert made.keys() == ends.keys(), repair
        wired[twin] = (kind, made, wired[like][2])
    elif found := START_RELAY.match(repair):
        add_start_relay(wired, repair, *found.groups())
    elif repair.startswith(SECOND_ROW):
        add_second_row(wired, repair)
    elif found := LINK_REMOVED.match(repair):
        link, *nets = found.groups()
        kind, terminals, _ = wired.pop(link)
        assert kind == "link" and list(terminals.values()) == nets, repair
    elif found := WIRE_MOVED.match(repair):
        device, terminal, net, to = found.groups()
        assert wired[device][1][terminal] == net, repair
        wired[device][1][terminal] = to
    elif found := WIRE_ADDED.match(repair):
        device, terminal, net, to = found.groups()
        assert wired[device][1][terminal] == net, repair
        join(wired, net, to)
    elif found := EXCHANGED.match(repair):
        device, first, second, same, old_first, old_second, *nets = found.groups()
        contacts = wired[device][1]
        assert device == same and first not in contacts and second not in contacts, repair
        assert [contacts.pop(old_first), contacts.pop(old_second)] == nets, repair
        contacts[first], contacts[second] = nets
    elif found := TAKEN_OUT.match(repair) or BRIDGED.match(repair):
        device, first, second, *nets = found.groups()
        assert [wired[device][1].pop(first), wired[device][1].pop(second)] == nets, repair
        if BRIDGED.match(repair):
            join(wired, nets[1], nets[0])
    else:
        found = CONTACT.match(repair)
        assert found, repair
        what, owner, first, second, device, terminal, net, kept, gone = found.groups()
        contacts = wired[owner][1]
        if what == "move the":
            assert {contacts.pop(first), contacts.pop(second)} >= ({kept, gone} if kept else set()), repair
        assert first not in contacts and second not in contacts, repair
        assert wired[device][1][terminal] == net, repair
        if kept:
            join(wired, gone, kept)
        contacts[first] = wired[device][1][terminal]
        contacts[second] = wired[device][1][terminal] = "new wire"
    made = stopspan.Circuit()
    for designation, (kind, terminals, parameters) in wired.items():
        made.add(designation, kind, terminals, **parameters)
    return made


def not_holding(verdict: stopspan.Verdict) -> set[tuple[str, tuple[str, ...]]]:
    """Rule and subjects of each finding; of an isolator's long list of live nets only the isolator."""
    return {
        (f.rule, tuple(f.subjects[:1] if f.rule == "isolator-clears" and len(f.subjects) > 2 else f.subjects))
        for f in verdict.findings
        if f.status in ("fails", "maybe", "undecided")
    }


def lost_to_shorts(finding: stopspan.Finding, verdict: stopspan.Verdict) -> list[str]:
    """Of what a short takes away: what it still does, or the like of it in the second row or between the rows."""
    lost = {what for what in told(finding.text) if finding.status == "note" or what[0] != "trip"}
    pieces = [PIECE.match(piece) for piece in row_pieces(finding.repair)]
    second = {net for piece in pieces if piece for net in piece.groups()[5:]}
    nets = {net for net in second if net.rpartition("/")[0] in finding.subjects[:2] or " behind " in net} | {*finding.subjects[:2]}
    shorts = [each for each in verdict.findings if each.text.startswith("With the fault 'bridge ") and {*each.subjects[:2]} <= nets]
    return [f"{finding.repair} -> {each.text}" for each in shorts if lost & {*told(each.text)}]


def still_lost(circuit: stopspan.Circuit, finding: stopspan.Finding, asked: dict) -> list[str]:
    """What a fault, or the same of a twin, takes away after all with its repair made, or with the exclusion that it names."""
    names = EXCLUDED.match(finding.repair)
    made = circuit if names else applied(circuit, finding.repair)
    exclusions = names[1].split(", ") if names else []
    fault = finding.text.split("'")[1]
    faults = {fault}
    last = finding.repair.rpartition("; then ")[2]
    if twin := DOUBLED.match(last):
        faults.add(f"{fault.split()[0]} {twin[2]}")
    if (block := CONTACT.match(last)) and fault.startswith("detach "):
        faults.add(f"detach {block[2]}:{block[3]}")
    after = made.check(asked=asked, rules=["single-fault"], fault_exclusions=exclusions, repairs=False)
    if finding.repair.startswith(SECOND_ROW):
        return lost_to_shorts(finding, after)
    return [
        f"{finding.repair} -> {each.text}"
        for each in after.findings
        # of a device with one block "detach S1", with two of them "detach S1:11"
        if (at := each.text.split("'")[1]) in faults or (":" not in fault and at.startswith(f"{fault}:"))
    ]


def still_hidden(circuit: stopspan.Circuit, finding: stopspan.Finding, asked: dict) -> list[str]:
    """The same two faults, told after all with the exclusion named."""
    exclusions = EXCLUDED.match(finding.repair)[1].split(", ")
    after = circuit.check(asked=asked, rules=["hidden-fault"], fault_exclusions=exclusions, repairs=False)
    pair = {*finding.text.split("'")[1::2]}
    return [f"{finding.repair} -> {each.text}" for each in after.findings if {*each.text.split("'")[1::2]} == pair]


def unmended(circuit: stopspan.Circuit, verdict: stopspan.Verdict, **how: object) -> list[str]:
    """Repairs of a verdict that do not mend their finding, or bring another one."""
    before, wrong = not_holding(verdict), []
    asked = {(cell.stop, cell.machine): cell.asked for cell in verdict.matrix}
    for finding in verdict.findings:
        if finding.rule == "single-fault" and finding.repair:
            wrong += still_lost(circuit, finding, asked)
        elif finding.rule == "hidden-fault" and finding.repair:
            wrong += still_hidden(circuit, finding, asked)
        elif finding.repair:
            after = not_holding(applied(circuit, finding.repair).check(asked=asked, repairs=False, **how))
            subjects = finding.subjects
            if finding.rule == "isolator-clears" and len(subjects) > 2:
                subjects = subjects[:1]
            if (finding.rule, tuple(subjects)) in after or not after <= before:
                wrong.append(f"{finding.rule} {finding.subjects}: {finding.repair} -> {after - before}")
    return wrong
