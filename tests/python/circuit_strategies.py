"""Small control circuits as hypothesis strategies: every part of one is drawn by itself, so a disagreement shrinks.

A circuit is a list of rows (designation, kind, terminals, parameters), as the reference takes them. Every number a
verdict could hang on is given, so nothing is unknown to either side.
"""

from hypothesis import strategies as st

STOPS = [
    ("push-button", {"role": "stop"}),
    ("emergency-stop", {}),
    ("key-switch", {"role": "stop", "action": "maintained"}),
]
STARTS = [
    ("push-button", {"role": "start"}),
    ("selector", {}),
    ("push-button", {"role": "jog"}),
    ("push-button", {"role": "reset"}),
    ("key-switch", {"action": "maintained"}),
    ("push-button", {}),
]
# Kind of armature, and its parameters; simplest first, as in every list here: towards it examples shrink.
ARMATURES = [
    ("contactor", {}),
    ("relay", {}),
    ("timer", {"delay": "on"}),
    ("timer", {"delay": "off"}),
]
HOLD_W, HOLD_VA, INRUSH_VA = 3.0, 8.0, 70.0


class _Bench:
    """Rows as they come, and the nets of the control circuit, where wires may land by mistake."""

    def __init__(self):
        self.rows, self.nets, self.blocks = [], [], {}

    def net(self):
        self.nets.append(f"n{len(self.nets) + 1}")
        return self.nets[-1]

    def add(self, name, kind, terminals, **parameters):
        self.rows.append((name, kind, dict(terminals), parameters))

    def terminals(self, name):
        return next(row[2] for row in self.rows if row[0] == name)

    def contact(self, name, digits, first, second):
        """One more contact of a device that is there already."""
        block = self.blocks[name] = self.blocks.get(name, 0) + 1
        self.terminals(name).update({f"{block}{digits[0]}": first, f"{block}{digits[1]}": second})


def _supply(draw, bench):
    """(line, neutral, rated volts, coil parameters) of the control circuit; motors hang on L1 and N."""
    bench.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    how = draw(st.sampled_from(["same", "dc", "dc floating", "transformer", "second"]))
    ac = {"coil_current": "AC", "hold_va": HOLD_VA, "inrush_va": INRUSH_VA}
    if how.startswith("dc"):
        earthed = {} if how == "dc floating" else {"earthed_pole": "M"}
        feed = draw(st.sampled_from([{"ac1": "L1", "ac2": "N"}, {}]))
        bench.add("G5", "dc-supply", {"P": "P", "M": "M", **feed}, voltage_v=24.0, **earthed)
        return "P", "M", 24.0, {"coil_current": "DC", "hold_w": HOLD_W}
    if how == "transformer":
        bench.add("T1", "transformer", {"p1": "L1", "p2": "N", "s1": "X", "s2": "Y"}, secondary_v=110.0, primary_v=230.0,
                  earthed_pole="s2")
        return "X", "Y", 110.0, ac
    if how == "second":
        bench.add("G2", "mains-1ph", {"L": "L9", "N": "N9"})
        return "L9", "N9", 230.0, ac
    return "L1", "N", 230.0, ac


def _stop(draw, bench, name, before, after):
    kind, parameters = draw(st.sampled_from(STOPS))
    bench.add(name, kind, {"11": before, "12": after}, **parameters)
    bench.blocks[name] = 1


def _rung(draw, bench, number, many, rail, back, rated_v, coil, locks):
    """One armature, the string of contacts before its coil and a holding contact past some of them."""
    nets = [rail]
    parts = draw(st.lists(st.sampled_from(["start", "stop", "lock"]), min_size=1, max_size=3))
    if many > 1 and "start" not in parts:  # whether a start declared for one machine is another's too is nowhere said
        parts.append("start")
    for place, part in enumerate(parts):
        nets.append(bench.net())
        if part == "stop":
            _stop(draw, bench, f"S{number}{place}", nets[-2], nets[-1])
        elif part == "start":
            kind, parameters = draw(st.sampled_from(STARTS))
            machine = {"machine": f"M{number}"} if many > 1 else {}
            bench.add(f"S{number}{place}", kind, {"13": nets[-2], "14": nets[-1]}, **parameters | machine)
            bench.blocks[f"S{number}{place}"] = 1
        else:  # wired once all armatures are there
            what = draw(st.sampled_from(["break", "make", "delayed-break", "delayed-make"]))
            locks.append((draw(st.integers(1, many)), what, nets[-2], nets[-1]))
    kind, parameters = draw(st.sampled_from(ARMATURES))
    over_rated = draw(st.sampled_from([1.0, 1.3, 1.6]))  # in how far volts through a leak may matter
    name, motor = f"K{number}", f"M{number}"
    terminals = {"A1": nets[-1], "A2": back}
    if kind == "contactor":
        terminals |= {"1": "L1", "2": f"p{number}"}
    bench.add(name, kind, terminals, coil_voltage_v=round(rated_v * over_rated, 1), **coil, **parameters)
    if draw(st.booleans()):
        first = draw(st.integers(0, len(nets) - 2))
        bench.contact(name, "34", nets[first], nets[draw(st.integers(first + 1, len(nets) - 1))])
    if kind != "contactor":
        bench.contact(name, "34" if kind == "relay" else draw(st.sampled_from(["34", "56", "78"])), "L1", f"p{number}")
    bench.add(motor, "motor-1ph", {"L": f"p{number}", "N": "N"}, power_kw=0.75)


def _sneak(draw, bench, rated_v, current):
    """A lamp, resistor or capacitor between two control nets, about as strong as a coil."""
    pairs = st.lists(st.sampled_from(bench.nets), min_size=2, max_size=2, unique=True)
    first, second = draw(pairs)
    kind = draw(st.sampled_from(["resistor", "lamp", "capacitor"] if current == "AC" else ["resistor", "lamp"]))
    ohm = rated_v**2 / (HOLD_VA if current == "AC" else HOLD_W) * draw(st.sampled_from([1.0, 0.3, 3.0, 10.0]))
    name, terminals = f"E{len(bench.rows)}", {"1": first, "2": second}
    if kind == "resistor":
        bench.add(name, kind, terminals, resistance_ohm=round(ohm, 1))
    elif kind == "lamp":
        bench.add(name, kind, terminals, voltage_v=rated_v, current_a=round(rated_v / ohm, 5))
    else:
        bench.add(name, kind, terminals, capacitance_uf=round(1e6 / (314.16 * ohm), 4))


def _misplace(draw, bench):
    """One contact terminal lands on another control net."""
    spots = [(terminals, t) for _, _, terminals, _ in bench.rows for t in terminals if t.isdigit() and int(t) > 10]
    terminals, terminal = draw(st.sampled_from(spots))
    partner = terminals[str(int(terminal) + (1 if int(terminal) % 2 else -1))]
    terminals[terminal] = draw(st.sampled_from([net for net in bench.nets if net != partner]))


@st.composite
def circuits(draw):
    """Up to three rungs behind up to two stops, then leaks and misplaced wires."""
    bench = _Bench()
    line, neutral, rated_v, coil = _supply(draw, bench)
    bench.nets += [line, neutral]
    rail = line
    if draw(st.booleans()):
        rail = bench.net()
        bench.add("F1", "fuse", {"1": line, "2": rail}, rating_a=6.0)
    for number in range(1, draw(st.integers(0, 2)) + 1):
        after = bench.net()
        _stop(draw, bench, f"S{number}", rail, after)
        rail = after
    many, locks = draw(st.integers(1, 3)), []
    for number in range(1, many + 1):
        _rung(draw, bench, number, many, rail, neutral, rated_v, coil, locks)
    timers = {row[0] for row in bench.rows if row[1] == "timer"}
    for other, what, first, second in locks:
        digits = {"break": "12", "make": "34", "delayed-break": "56", "delayed-make": "78"}[what]
        if f"K{other}" not in timers:
            digits = {"5": "12", "7": "34"}.get(digits[0], digits)
        bench.contact(f"K{other}", digits, first, second)
    for _ in range(draw(st.integers(0, 2))):
        _misplace(draw, bench)
    for _ in range(draw(st.integers(0, 2))):
        _sneak(draw, bench, rated_v, coil["coil_current"])
    return bench.rows


@st.composite
def relay_circuits(draw, makes_only=False, rows_of_stops=0):
    """Contacts and coils straight across the poles, nothing that needs volts: stops, starts, overloads, relays, machines.

    `makes_only`: no break contacts of armatures. `rows_of_stops`: at least so many stops ahead of everything.
    """
    bench = _Bench()
    bench.add("G1", "mains-1ph", {"L": "L1", "N": "N"})
    line, neutral = draw(st.sampled_from([("L1", "N"), ("L9", "N9")]))
    if line == "L9":
        bench.add("G2", "mains-1ph", {"L": "L9", "N": "N9"})
    rail = bench.net()
    bench.add("F1", "fuse", {"1": line, "2": rail}, rating_a=6.0)
    if draw(st.booleans()):
        after = bench.net()
        bench.add("B1", "overload", {"95": rail, "96": after}, reset="manual")
        rail = after
    for number in range(1, draw(st.integers(rows_of_stops, rows_of_stops + 2)) + 1):
        after = bench.net()
        _stop(draw, bench, f"S{number}", rail, after)
        rail = after
    many, locks = draw(st.integers(1, 3)), []
    for number in range(1, many + 1):
        _relay_rung(draw, bench, number, many, rail, neutral, locks)
    for other, what, first, second in locks:
        bench.contact(f"K{other}", "34" if makes_only or what == "make" else "12", first, second)
    inner = [net for net in bench.nets if net not in ("L1", "L9")]
    for _ in range(draw(st.integers(0, 2))):
        spots = [(t, number) for _, _, t, _ in bench.rows for number in t if number.isdigit() and 10 < int(number) < 90]
        terminals, terminal = draw(st.sampled_from(spots))
        partner = terminals[str(int(terminal) + (1 if int(terminal) % 2 else -1))]
        terminals[terminal] = draw(st.sampled_from([net for net in inner if net != partner]))
    return bench.rows


def _relay_rung(draw, bench, number, many, rail, neutral, locks):
    nets = [rail]
    parts = draw(st.lists(st.sampled_from(["start", "stop", "lock"]), max_size=3))
    for place, part in enumerate(["start", *parts]):  # every machine has a start declared for it
        nets.append(bench.net())
        name = f"S{number}{place}"
        if part == "stop":
            _stop(draw, bench, name, nets[-2], nets[-1])
        elif part == "start":
            kind, parameters = draw(st.sampled_from(STARTS))
            bench.add(name, kind, {"13": nets[-2], "14": nets[-1]}, **parameters | {"machine": f"M{number}"})
        else:
            locks.append((draw(st.integers(1, many)), draw(st.sampled_from(["make", "break"])), nets[-2], nets[-1]))
    bench.add(f"K{number}", "contactor", {"A1": nets[-1], "A2": neutral, "1": "L1", "2": f"p{number}"},
              coil_voltage_v=230.0, coil_current="AC", hold_va=HOLD_VA, inrush_va=INRUSH_VA)
    if draw(st.booleans()):
        first = draw(st.integers(0, len(nets) - 2))
        bench.contact(f"K{number}", "34", nets[first], nets[draw(st.integers(first + 1, len(nets) - 1))])
    bench.add(f"M{number}", "motor-1ph", {"L": f"p{number}", "N": "N"}, power_kw=0.75)
