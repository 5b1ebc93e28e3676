"""Random small control circuits: sound rungs first, then the mistakes and sneak paths old machines have.

Every number a verdict could hang on (coil powers, fuse ratings) is given, so nothing is unknown to either side.
"""

import random


class _Maker:
    def __init__(self, rng):
        self.rng, self.rows, self.count = rng, [], 0
        self.control_nets = []
        self.rungs = []

    def chance(self, p):
        return self.rng.random() < p

    def net(self, control=True):
        self.count += 1
        name = f"n{self.count}"
        if control:
            self.control_nets.append(name)
        return name

    def add(self, name, kind, terminals, **parameters):
        self.rows.append((name, kind, terminals, parameters))

    # supplies

    def supplies(self):
        r = self.rng
        three = self.chance(0.2)
        if three:
            self.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
        else:
            self.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
        self.phases = ["L1", "L2", "L3"] if three else ["L1"]
        self.lines = [(phase, "N") for phase in self.phases]
        if not three and self.chance(0.18):
            self.add("G2", "mains-1ph", {"L": "L9", "N": "N9"})
            self.lines.append(("L9", "N9"))
        line, neutral = r.choice(self.lines)
        self.volts, self.current = 230.0, "AC"
        how = r.random()
        if how < 0.22:
            self.volts, self.current = r.choice([24.0, 48.0]), "DC"
            feed = {"ac1": line, "ac2": neutral} if self.chance(0.75) else {}
            extra = {"earthed_pole": "M"} if self.chance(0.6) else {}
            if self.chance(0.2):
                extra["power_w"] = r.choice([60.0, 3000.0])
            self.add("G5", "dc-supply", {"P": "P", "M": "M", **feed}, voltage_v=self.volts, **extra)
            line, neutral = "P", "M"
        elif how < 0.34:
            self.volts = r.choice([24.0, 110.0, 230.0])
            extra = {"earthed_pole": "s2"} if self.chance(0.7) else {}
            self.add("T1", "transformer", {"p1": line, "p2": neutral, "s1": "X", "s2": "Y"},
                     secondary_v=self.volts, **extra)
            line, neutral = "X", "Y"
        self.bus, self.back = line, neutral
        self.control_nets = [neutral]
        if self.chance(0.3):
            after = self.net()
            terminals = {"1": self.bus, "2": after}
            if self.chance(0.3):
                terminals |= {"13": "aux1", "14": "aux2"}
                self.isolator_aux = True
            self.add("Q1", "isolator", terminals)
            self.bus = "aux1" if "13" in terminals else after
            if "13" in terminals:
                self.add("W9", "link", {"1": after, "2": "aux1"})
                self.bus = "aux2"
                self.control_nets += ["aux2"]
        if self.chance(0.5):
            after = self.net()
            self.add("F2", "fuse", {"1": self.bus, "2": after}, rating_a=r.choice([2.0, 6.0]))
            self.bus = after
        if self.chance(0.18):  # a long thin line
            after = self.net()
            ohm = self.inrush_ohm() * r.choice([0.05, 0.25, 0.35, 0.45, 0.7])
            # No round figures: a coil at 0.60 of its voltage to the last digit is anybody's guess.
            self.add("R8", "resistor", {"1": self.bus, "2": after}, resistance_ohm=round(1.003 * ohm, 2))
            self.bus = after

    def inrush_ohm(self):
        return self.volts**2 / (70.0 if self.current == "AC" else 3.0)

    def hold_ohm(self):
        return self.volts**2 / (8.0 if self.current == "AC" else 3.0)

    # hand devices

    def stop(self, name, before, after):
        r = self.rng
        kind, parameters = r.choice([
            ("emergency-stop", {}), ("push-button", {"role": "stop"}), ("push-button", {"role": "stop"}),
            ("pedal", {}), ("pull-wire", {}), ("key-switch", {"role": "stop", "action": "maintained"}),
        ])
        terminals = {"11": before, "12": after}
        if self.chance(0.15):  # a make block too: its job is anybody's guess
            terminals["23"], terminals["24"] = self.two_nets()
        elif self.chance(0.1):
            terminals["21"], terminals["22"] = self.two_nets()
        self.add(name, kind, terminals, **parameters)

    def starter(self, name, before, after, machine):
        r = self.rng
        role = r.choices(["start", "jog", "reset", "test", None, "select"], [44, 5, 14, 3, 4, 30])[0]
        parameters = {} if role in (None, "select") else {"role": role}
        kind = "selector" if role == "select" else "push-button"
        if role == "reset" and self.chance(0.5):
            kind, parameters = "key-switch", {"action": r.choice(["spring-return", "spring-return", "maintained"])}
        terminals = {"13": before, "14": after}
        if role != "select" and self.chance(0.15):
            terminals["21"], terminals["22"] = self.two_nets()
        if self.declared:  # else which machine it starts is left to be found out, with one rung only
            parameters["machine"] = machine
        self.add(name, kind, terminals, **parameters)

    # rungs

    def coil(self):
        r = self.rng
        if self.current == "DC":
            parameters = {"coil_current": "DC", "hold_w": r.choice([2.0, 3.0, 5.0])}
        else:
            parameters = {"coil_current": "AC", "hold_va": r.choice([4.0, 8.0, 11.0]), "inrush_va": r.choice([40.0, 70.0])}
        rated = self.volts * r.choices([1.0, 1.3, 1.6, 0.9], [50, 31, 17, 2])[0]
        return {"coil_voltage_v": round(rated, 1), **parameters}

    def rung(self, number, start_net):
        """One coil with what stands before it; its contacts are collected and wired at the end."""
        r = self.rng
        at = start_net
        name = f"K{number}"
        kind = r.choices(["contactor", "relay", "timer", "latched-contactor"], [74, 10, 11, 5])[0]
        machine = f"M{number}" if kind in ("contactor", "latched-contactor") else None
        contacts = {}
        if self.chance(0.3):
            after = self.net()
            self.stop(f"S{number}0", at, after)
            at = after
        before_start = at
        if kind != "timer" or self.chance(0.6):
            after = self.net()
            self.starter(f"S{number}1", at, after, machine or "M1")
            at = after
            if kind != "latched-contactor" and self.chance(0.66):
                lands = before_start if self.chance(0.85) else r.choice([n for n in self.control_nets if n != at])
                contacts |= {"13": lands, "14": at}
        for other in self.rungs:  # locks against rungs before, or waits for them
            if self.chance(0.3):
                after = self.net()
                other_make = r.random() < 0.35
                at_terminals = self.spare(other, other_make)
                if at_terminals:
                    other["contacts"] |= {at_terminals[0]: at, at_terminals[1]: after}
                    at = after
        rung = {"name": name, "kind": kind, "machine": machine, "contacts": contacts, "start": before_start, "coil": at}
        if kind == "latched-contactor":
            trip = self.net()
            tripped_from = r.choice([before_start, self.bus])
            self.add(f"S{number}8", "push-button", {"13": tripped_from, "14": trip}, role="stop")
            rung["terminals"] = {"C1": at, "C2": self.back, "E1": trip, "E2": self.back}
        else:
            back = self.back
            if self.chance(0.08):  # a stop in the return
                back = self.net()
                self.stop(f"S{number}7", back, self.back)
            rung["terminals"] = {"A1": at, "A2": back}
        self.rungs.append(rung)

    def spare(self, rung, make):
        """An unused pair of auxiliary contact terminals of a rung's armature."""
        digits = ("3", "4") if make else ("1", "2")
        if rung["kind"] == "timer" and self.chance(0.8):
            digits = ("7", "8") if make else ("5", "6")
        for row in "123456":
            if row + digits[0] not in rung["contacts"] and (make or row != "1" or digits[0] != "1"):
                return row + digits[0], row + digits[1]
        return None

    def two_nets(self):
        """Two different control nets."""
        return self.rng.sample(self.control_nets, 2) if len(self.control_nets) > 1 else (self.back, "spare")

    def finish(self):
        r = self.rng
        pair = None
        strong = [g for g in self.rungs if g["kind"] == "contactor"]
        if len(strong) >= 2 and self.chance(0.2):
            pair = (strong[0]["name"], strong[1]["name"])
        reversing = len(self.phases) == 3 and len(strong) >= 2 and self.chance(0.5)
        motors = 0
        for g in self.rungs:
            parameters = self.coil()
            terminals = dict(g["terminals"])
            if g["kind"] == "timer":
                parameters["delay"] = r.choice(["on", "on", "off"])
            if pair and g["name"] == pair[0]:
                parameters["interlocked_with"] = pair[1]
            if g["machine"]:
                motors += self.power(g, terminals, reversing and g in strong[:2], g is strong[1] if len(strong) > 1 else False)
            self.add(g["name"], g["kind"], terminals | g["contacts"], **parameters)
        return motors

    def power(self, g, terminals, reversing, second):
        r = self.rng
        number = g["name"][1:]
        if reversing:
            order = ["m3", "m2", "m1"] if second else ["m1", "m2", "m3"]
            for k, phase in enumerate(self.phases):
                terminals[str(2 * k + 1)], terminals[str(2 * k + 2)] = phase, order[k]
            if second:
                return 0
            self.add(f"M{number}", "motor-3ph", {"U": "m1", "V": "m2", "W": "m3"}, power_kw=2.2)
            return 1
        line, neutral = r.choice(self.lines)
        at = self.net(control=False)
        terminals |= {"1": line, "2": at}
        if self.chance(0.25):
            after = self.net(control=False)
            trip = {}
            if self.chance(0.8):
                first = next((x for x in self.rows if x[0].startswith("S") and "12" in x[2]), None)
                if first:  # its break contact goes in series with a stop
                    middle = self.net()
                    trip = {"95": middle, "96": first[2]["12"]}
                    first[2]["12"] = middle
            self.add(f"F1{number}", "overload", {"1": at, "2": after} | trip, reset=r.choice(["manual", "automatic"]))
            at = after
        if self.chance(0.15):
            after = self.net(control=False)
            terminals |= {"3": neutral, "4": after}
            neutral = after
        self.add(f"M{number}", "motor-1ph", {"L": at, "N": neutral}, power_kw=0.75)
        return 1

    # what should not be there

    def sneak(self):
        """A lamp, load, resistor or capacitor between two control nets."""
        r = self.rng
        a, b = r.sample(self.control_nets, 2) if len(self.control_nets) > 1 else (self.bus, self.back)
        name = f"E{len(self.rows)}"
        kind = r.choice(["lamp", "load", "resistor", "resistor", "resistor", "capacitor"])
        size = self.hold_ohm() * 10 ** r.uniform(-0.7, 1.2)
        if kind == "capacitor" and self.current == "AC":
            self.add(name, kind, {"1": a, "2": b}, capacitance_uf=round(1e6 / (314.16 * size), 4))
        elif kind in ("lamp", "load"):
            self.add(name, kind, {"1": a, "2": b}, voltage_v=self.volts, current_a=round(self.volts / size, 5))
        else:
            self.add(name, "resistor", {"1": a, "2": b}, resistance_ohm=round(size, 1))

    def leak(self):
        """The same, across a contact of a stop: what a long cable or a wet box does."""
        r = self.rng
        stops = [x for x in self.rows if x[0].startswith("S") and "11" in x[2]]
        if not stops:
            return
        stop = r.choice(stops)
        size = self.hold_ohm() * 10 ** r.uniform(-0.45, 0.75)
        name = f"E{len(self.rows)}"
        if self.current == "AC" and self.chance(0.4):
            capacitance = round(1e6 / (314.16 * size), 4)
            self.add(name, "capacitor", {"1": stop[2]["11"], "2": stop[2]["12"]}, capacitance_uf=capacitance)
        else:
            self.add(name, "resistor", {"1": stop[2]["11"], "2": stop[2]["12"]}, resistance_ohm=round(size, 1))

    def misplace(self):
        """One contact terminal lands on another control net."""
        r = self.rng
        spots = [
            (row, t) for row in self.rows for t in row[2]
            if t.isdigit() and int(t) > 10 and row[1] not in ("overload", "isolator")
        ]
        if spots:
            row, terminal = r.choice(spots)
            partner = row[2].get(str(int(terminal) + 1 if int(terminal) % 2 else int(terminal) - 1))
            row[2][terminal] = r.choice([n for n in self.control_nets if n != partner] or ["spare"])

    def kept(self):
        r = self.rng
        g = r.choice(self.rungs)
        net = g["coil"] if self.chance(0.3) else r.choice(self.control_nets)
        self.add("E1", "load", {"1": net, "2": self.back}, voltage_v=self.volts, kept=True,
                 current_a=round(self.volts / (self.hold_ohm() * r.choice([0.05, 0.5, 2.0])), 5))


def random_circuit(seed):
    """Rows (designation, kind, terminals, parameters) of one circuit; the same seed gives the same rows."""
    maker = _Maker(random.Random(seed))
    r = maker.rng
    maker.supplies()
    for k in range(r.choices([0, 1, 2], [15, 65, 20])[0]):
        after = maker.net()
        maker.stop(f"S{90 + k}", maker.bus, after)
        maker.bus = after
    many = r.choices([1, 2, 3], [45, 42, 13])[0]
    maker.declared = many > 1 or maker.chance(0.5)
    for number in range(1, many + 1):
        maker.rung(number, maker.bus)
    motors = maker.finish()
    if not motors:  # a relay alone moves nothing: let it feed a motor
        line, neutral = r.choice(maker.lines)
        at = maker.net(control=False)
        maker.rows[-1][2].update({"43": line, "44": at})
        maker.add("M1", "motor-1ph", {"L": at, "N": neutral}, power_kw=0.75)
    for _ in range(r.choices([0, 1, 2], [45, 40, 15])[0]):
        maker.misplace()
    for _ in range(r.choices([0, 1, 2], [40, 40, 20])[0]):
        maker.sneak()
    for _ in range(r.choices([0, 1, 2, 3], [6, 30, 42, 22])[0]):
        maker.leak()
    if maker.chance(0.3):
        maker.kept()
    motors = {row[0] for row in maker.rows if row[0].startswith("M")}
    for row in maker.rows:  # nothing is declared for a machine that did not come to be
        if row[3].get("machine", row[0]) not in motors | {row[0]}:
            del row[3]["machine"]
    return [row for row in maker.rows if len(set(row[2].values())) > 1 or row[1] not in ("resistor", "capacitor")]
