"""Random small workshops as a fitter would wire them, then a mistake or two.

Reversing pairs, star-delta, two speeds, drives, latched contactors, run-on timers, zone relays, strings of stops over
two machines, isolators with auxiliary contacts, shared distribution nets, a second source, DC and transformer control.
Every number a verdict could hang on is given, so nothing is unknown to either side.
"""

import random


class _Board:
    def __init__(self, rng):
        self.rng, self.rows, self.many_nets = rng, [], 0
        self.control = []  # control nets, where a misplaced wire may land
        self.spare_rows = {}  # armature -> next free row of auxiliary contacts

    def chance(self, p):
        return self.rng.random() < p

    def net(self, control=True):
        self.many_nets += 1
        name = f"{'n' if control else 'p'}{self.many_nets}"
        if control:
            self.control.append(name)
        return name

    def add(self, name, kind, terminals, **parameters):
        self.rows.append((name, kind, dict(terminals), parameters))

    def find(self, name):
        return next(row for row in self.rows if row[0] == name)

    def contact(self, armature, what, before, after=None):
        """One more auxiliary contact of an armature, already placed or not; returns the net behind it."""
        after = after or self.net()
        row = self.spare_rows[armature] = self.spare_rows.get(armature, 0) + 1
        digits = {"break": "12", "make": "34", "delayed-break": "56", "delayed-make": "78"}[what]
        self.find(armature)[2].update({f"{row}{digits[0]}": before, f"{row}{digits[1]}": after})
        return after

    # supply

    def supply(self, three):
        r = self.rng
        self.three = three
        if three:
            self.add("G1", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
        else:
            self.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
        self.lines, self.neutral = ["L1", "L2", "L3"] if three else ["L1"], "N"
        self.aux = []  # auxiliary make contacts of isolators that a rung ought to hold: (before, after) to be wired
        if self.chance(0.3):
            self.lines = self.isolator("Q1", self.lines, self.chance(0.4))
        kind = r.choices(["same", "second", "dc", "transformer"], [50, 15, 20, 15])[0]
        self.volts, self.current = 230.0, "AC"
        line, neutral = self.lines[0], self.neutral
        if kind == "second":
            self.add("G2", "mains-1ph", {"L": "L9", "N": "N9"})
            line, neutral = "L9", "N9"
        elif kind == "dc":
            self.volts, self.current = 24.0, "DC"
            feed = {"ac1": line, "ac2": neutral} if self.chance(0.7) else {}
            extra = {"earthed_pole": "M"} if self.chance(0.7) else {}
            if self.chance(0.25):
                extra["power_w"] = r.choice([60.0, 2400.0])
            self.add("G5", "dc-supply", {"P": "P", "M": "M", **feed}, voltage_v=24.0, **extra)
            line, neutral = "P", "M"
        elif kind == "transformer":
            self.volts = r.choice([24.0, 110.0])
            other = self.lines[1] if three and self.chance(0.5) else neutral
            extra = {"earthed_pole": "s2"} if self.chance(0.7) else {}
            if self.chance(0.25):
                extra["rating_va"] = r.choice([20.0, 250.0])
            self.add("T1", "transformer", {"p1": line, "p2": other, "s1": "X", "s2": "Y"},
                     secondary_v=self.volts, primary_v=400.0 if other != neutral else 230.0, **extra)
            line, neutral = "X", "Y"
        self.rail, self.back = line, neutral
        self.control.append(neutral)
        if self.chance(0.3):
            after = self.net()
            self.add("F1", "fuse", {"1": line, "2": after}, rating_a=r.choice([2.0, 6.0]))
            self.rail = after

    def isolator(self, name, lines, with_aux):
        after = [self.net(control=False) for _ in lines]
        poles = {}
        for k, (line, net) in enumerate(zip(lines, after)):
            poles |= {str(2 * k + 1): line, str(2 * k + 2): net}
        self.add(name, "isolator", poles)
        if with_aux:
            self.aux.append(name)
        return after

    def coil(self):
        r = self.rng
        rated = round(self.volts * r.choices([1.0, 1.3, 1.6], [18, 52, 30])[0], 1)
        if self.current == "DC":
            return {"coil_voltage_v": rated, "coil_current": "DC", "hold_w": r.choice([2.0, 3.0, 5.0])}
        return {"coil_voltage_v": rated, "hold_va": r.choice([4.0, 8.0, 11.0]), "inrush_va": r.choice([40.0, 70.0])}

    def armature(self, name, kind="contactor", back=None, **parameters):
        """An armature whose coil is still to be fed: feed() gives A1 its net."""
        self.add(name, kind, {"A2": back or self.back}, **self.coil(), **parameters)

    def feed(self, name, net, terminal="A1"):
        self.find(name)[2][terminal] = net

    # hand devices

    def stop(self, name, before):
        after = self.net()
        kind, parameters = self.rng.choice([
            ("emergency-stop", {}), ("push-button", {"role": "stop"}), ("push-button", {"role": "stop"}), ("pedal", {}),
            ("pull-wire", {}), ("floor-bar", {}), ("key-switch", {"role": "stop", "action": "maintained"}),
        ])
        self.add(name, kind, {"11": before, "12": after}, **parameters)
        return after

    def start(self, name, before, machine, seal=None):
        """A start button, mostly; returns the net behind it, bridged by the armature `seal`."""
        after = self.net()
        role = self.rng.choices(["start", "jog", "selector"], [74, 8, 18])[0]
        parameters = {"machine": machine} if self.declared else {}
        if role == "selector":
            self.add(name, "selector", {"13": before, "14": after}, **parameters)
        else:
            self.add(name, "push-button", {"13": before, "14": after}, role=role, **parameters)
        if seal and role == "start" and not self.chance(0.04):
            self.contact(seal, "make", before, after)
        return after

    # starters: each takes the net its rung begins at and the phases of its branch

    def direct(self, n, rung, lines):
        name, machine = f"K{n}", f"M{n}"
        self.armature(name)
        at = self.start(f"S{n}1", rung, machine, name)
        self.feed(name, at)
        self.motor(n, self.through(name, lines))

    def through(self, armature, lines, first=0):
        """Power poles of an armature in these lines; the nets behind them."""
        after = [self.net(control=False) for _ in lines]
        for k, (line, net) in enumerate(zip(lines, after)):
            self.find(armature)[2].update({str(2 * (first + k) + 1): line, str(2 * (first + k) + 2): net})
        return after

    def motor(self, n, nets):
        if len(nets) == 3:
            self.add(f"M{n}", "motor-3ph", dict(zip("UVW", nets)), power_kw=2.2)
        else:
            self.add(f"M{n}", "motor-1ph", {"L": nets[0], "N": self.neutral}, power_kw=0.75)

    def reversing(self, n, rung, lines):
        one, two, machine = f"K{n}1", f"K{n}2", f"M{n}"
        self.armature(one, **({"interlocked_with": two} if self.chance(0.3) else {}))
        self.armature(two)
        for name, other, button in ((one, two, f"S{n}1"), (two, one, f"S{n}2")):
            at = self.start(button, rung, machine, name)
            if not self.chance(0.12):
                at = self.contact(other, "break", at)
            self.feed(name, at)
        after = self.through(one, lines)
        for k, line in enumerate(reversed(lines)):
            self.find(two)[2].update({str(2 * k + 1): line, str(2 * k + 2): after[k]})
        self.motor(n, after)

    def star_delta(self, n, rung, lines):
        line, star, delta, timer = f"K{n}1", f"K{n}2", f"K{n}3", f"K{n}4"
        for name in (line, star, delta):
            self.armature(name)
        self.armature(timer, "timer", delay="on", delay_s=6.0)
        at = self.start(f"S{n}1", rung, f"M{n}", line)
        self.feed(line, at)
        self.feed(timer, at)
        for name, sense, other in ((star, "delayed-break", delta), (delta, "delayed-make", star)):
            behind = self.contact(timer, sense, at)
            if not self.chance(0.12):
                behind = self.contact(other, "break", behind)
            self.feed(name, behind)
        heads = self.through(line, lines)
        tails = self.through(star, [self.net(control=False)] * 3)
        shifted = tails[1:] + tails[:1] if self.chance(0.9) else tails
        for k, (head, tail) in enumerate(zip(heads, shifted)):
            self.find(delta)[2].update({str(2 * k + 1): head, str(2 * k + 2): tail})
        ends = {f"{w}1": h for w, h in zip("UVW", heads)} | {f"{w}2": t for w, t in zip("UVW", tails)}
        self.add(f"M{n}", "motor-6lead", ends, power_kw=5.5)

    def two_speed(self, n, rung, lines):
        slow, fast = f"K{n}1", f"K{n}2"
        self.armature(slow, **({"interlocked_with": fast} if self.chance(0.3) else {}))
        self.armature(fast)
        for name, other, button in ((slow, fast, f"S{n}1"), (fast, slow, f"S{n}2")):
            at = self.start(button, rung, f"M{n}", name)
            if not self.chance(0.15):
                at = self.contact(other, "break", at)
            self.feed(name, at)
        ends = dict(zip(("U1", "V1", "W1"), self.through(slow, lines)))
        ends |= dict(zip(("U2", "V2", "W2"), self.through(fast, lines)))
        self.add(f"M{n}", "motor-2speed", ends, power_kw=3.0, slow_ends="apart")

    def latched(self, n, rung, lines):
        name = f"K{n}"
        self.add(name, "latched-contactor", {"C2": self.back, "E2": self.back}, **self.coil())
        self.feed(name, self.start(f"S{n}1", rung, f"M{n}"), "C1")
        trip = self.net()
        self.add(f"S{n}8", "push-button", {"13": self.rng.choice([rung, self.rail]), "14": trip}, role="stop")
        self.feed(name, trip, "E1")
        self.motor(n, self.through(name, lines))

    def run_on(self, n, rung, lines):
        """An extraction that runs on for a time after its start contact has gone."""
        name, timer = f"K{n}", f"K{n}4"
        self.armature(timer, "timer", delay="off", delay_s=30.0)
        self.armature(name)
        at = self.start(f"S{n}1", rung, f"M{n}", timer)
        self.feed(timer, at)
        before = rung if self.chance(0.6) else self.rail
        self.feed(name, self.contact(timer, "delayed-make", before))
        self.motor(n, self.through(name, lines))

    def drive(self, n, rung, lines):
        relay = f"K{n}"
        self.armature(relay, "relay")
        at = self.start(f"S{n}1", rung, f"M{n}", relay)
        self.feed(relay, at)
        run = {"RUN1": self.net(), "RUN2": self.net()}
        self.contact(relay, "make", run["RUN1"], run["RUN2"])
        if self.chance(0.4):  # safe torque off through a second contact of the relay
            run |= {"STO1": self.net(), "STO2": self.net()}
            self.contact(relay, "make", run["STO1"], run["STO2"])
        feed = lines
        if self.chance(0.4):
            self.armature(f"K{n}5")
            self.feed(f"K{n}5", rung)
            feed = self.through(f"K{n}5", lines)
        self.add(f"M{n}", "drive", dict(zip("RST", feed)) | run, power_kw=4.0,
                 on_power_return=self.rng.choice(["runs", "waits"]))

    # the whole

    def machine(self, n, starters):
        r = self.rng
        lines, rung = list(self.lines), self.rung
        if self.chance(0.3):
            lines = self.isolator(f"Q{n}0", lines, self.chance(0.5))
            if self.chance(0.35) and self.back == self.neutral and not self.zone:  # control from behind it
                rung = lines[0]
        overload = None
        if self.chance(0.35):
            after = [self.net(control=False) for _ in lines]
            terminals = {}
            for k, (line, net) in enumerate(zip(lines, after)):
                terminals |= {str(2 * k + 1): line, str(2 * k + 2): net}
            overload = f"F{n}9"
            self.add(overload, "overload", terminals, reset=r.choice(["manual", "automatic"]))
            lines = after
        for name in [q for q in self.aux if q in ("Q1", f"Q{n}0")]:
            after = self.net()
            self.find(name)[2].update({f"{n}3": rung, f"{n}4": after})
            rung = after
        if self.chance(0.7):
            rung = self.stop(f"S{n}0", rung)
        if overload and self.chance(0.9):
            after = self.net()
            self.find(overload)[2].update({"95": rung, "96": after})
            rung = after
        if self.zone == "contacts":
            rung = self.contact("K9", "make", rung)
        elif self.zone == "rail":
            pass
        r.choice(starters)(n, rung, lines)

    def zone_relay(self):
        """A relay that a reset button brings in and the area's stops drop."""
        self.zone = None
        if not self.chance(0.25):
            return
        self.zone = self.rng.choice(["contacts", "rail"])
        self.armature("K9", "relay")
        at = self.rung
        after = self.net()
        self.add("S9", "push-button", {"13": at, "14": after}, role="reset")
        self.contact("K9", "make", at, after)
        self.feed("K9", after)
        if self.zone == "rail":
            self.rung = self.contact("K9", "make", at)
        else:
            self.rung = self.rail

    def kept(self):
        nets = [self.rung, self.rail, self.rng.choice(self.control)]
        net = self.rng.choice([n for n in nets if n != self.back] or [self.rail])
        self.add("E1", "load", {"1": net, "2": self.back}, voltage_v=self.volts, current_a=round(20 / self.volts, 4), kept=True)

    # mistakes

    def mistake(self):
        r = self.rng
        spots = [
            (row, t) for row in self.rows for t in row[2]
            if t.isdigit() and int(t) > 10 and int(t) % 2 and row[1] != "overload"
        ]
        if not spots:
            return
        row, first = r.choice(spots)
        second = str(int(first) + 1)
        how = r.choice(["misplace", "misplace", "leave out", "bridge", "sense", "sneak"])
        if how == "misplace":
            moved, partner = r.choice([(first, second), (second, first)])
            row[2][moved] = r.choice([n for n in self.control if n != row[2][partner]])
        elif how == "leave out":
            if len([t for t in row[2] if t.isdigit()]) > 2 or row[1] not in ("isolator",):
                if row[1] in ("contactor", "relay", "timer", "latched-contactor", "isolator"):
                    del row[2][first], row[2][second]
        elif how == "bridge":
            if row[2][first] != row[2][second]:
                self.add(f"W{len(self.rows)}", "link", {"1": row[2][first], "2": row[2][second]})
        elif how == "sense":  # make for break, or the other way round
            swapped = {"1": "3", "2": "4", "3": "1", "4": "2", "5": "7", "6": "8", "7": "5", "8": "6"}
            new = (first[0] + swapped[first[1]], second[0] + swapped[second[1]])
            if new[0] not in row[2] and not (row[1] == "isolator"):
                row[2][new[0]], row[2][new[1]] = row[2].pop(first), row[2].pop(second)
        else:
            self.resistor(*r.sample(self.control, 2))

    def leak(self):
        """A resistance across a stop's contact, where a coil might just hold: a long cable or a wet box."""
        stops = [row for row in self.rows if "11" in row[2] and row[0].startswith("S")]
        if stops:
            row = self.rng.choice(stops)
            self.resistor(row[2]["11"], row[2]["12"])

    def resistor(self, a, b):
        if a == b:
            return
        hold_ohm = self.volts**2 / (8.0 if self.current == "AC" else 3.0)
        ohm = round(hold_ohm * 10 ** self.rng.uniform(-0.5, 0.8), 1)
        self.add(f"E{len(self.rows)}", "resistor", {"1": a, "2": b}, resistance_ohm=ohm)


def random_arrangement(seed):
    """Rows (designation, kind, terminals, parameters) of one small workshop; the same seed gives the same rows."""
    board = _Board(random.Random(f"arrangement {seed}"))
    r = board.rng
    three = board.chance(0.45)
    board.declared = board.chance(0.5)
    board.supply(three)
    rung = board.rail
    for k in range(r.choices([0, 1, 2], [25, 60, 15])[0]):
        rung = board.stop(f"S{90 + k}", rung)
    board.rung = rung
    board.zone_relay()
    if three:
        board.machine(1, [board.direct, board.reversing, board.reversing, board.star_delta, board.two_speed, board.drive,
                          board.latched])
    else:
        for n in range(1, r.choices([1, 2], [45, 55])[0] + 1):
            board.machine(n, [board.direct, board.direct, board.latched, board.run_on])
    for _ in range(r.choices([0, 1, 2], [35, 45, 20])[0]):
        board.mistake()
    for _ in range(r.choices([0, 1, 2, 3], [15, 30, 35, 20])[0]):
        board.leak()
    if board.chance(0.2):
        board.kept()
    return board.rows
