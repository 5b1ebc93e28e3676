"""The synthetic campus of tests/bench/campus.cpp as rows: areas of ten machines, and the mistakes put into some.

Every area: an isolator, a fused zone contactor with key reset, eight stops; four stops for the site have a break block in
every area's chain; every machine is started direct, with its own stop, start and overload.
"""

MACHINES, STOPS, SITE_STOPS = 10, 8, 4
MISTAKES = [
    "holding ahead of own stop",  # the machine's stop is bridged by its holding contact
    "fed ahead of zone",  # the machine does not feel the zone contactor
    "zone held ahead of chain",  # the zone's holding contact bridges the last area stop and the site stops
    "start ahead of own stop",  # the start button bridges the machine's stop
    "selector instead of holding",  # the zone reset starts the machine
]
COIL = {"coil_voltage_v": 230.0, "coil_current": "AC"}


class Campus:
    """`mistakes` has area -> mistake; of `areas`, when given, nothing but these is built. Has rows, asked {(stop, machine): "cut"}, own {machine: start devices}, broken {(rule, subject, machine)}.

    broken is what the mistakes break, worked out by hand; what hangs on volts (one line of three lost) is not in it.
    """

    def __init__(self, machines, mistakes, areas=None):
        self.rows, self.asked, self.own, self.broken = [], {}, {}, set()
        self._add("G0", "mains-3ph", {"L1": "L1", "L2": "L2", "L3": "L3", "N": "N"})
        self.site = [{} for _ in range(SITE_STOPS)]
        for area in areas or range(1, machines // MACHINES + 1):
            self._area(area, mistakes.get(area, ""))
        for number, blocks in enumerate(self.site, 1):
            self._add(f"ES{number}", "emergency-stop", blocks)

    def _add(self, name, kind, terminals, **parameters):
        self.rows.append((name, kind, terminals, parameters))

    def _area(self, area, mistake):
        self._add(f"Q{area}", "isolator", {"1": "L1", "2": f"u{area}.1", "3": "L2", "4": f"u{area}.2", "5": "L3", "6": f"u{area}.3"})
        self._add(f"F{area}", "fuse", {"1": f"u{area}.1", "2": f"c{area}.1"}, rating_a=2.0)
        for i in range(1, STOPS + 1):
            self._add(f"ES{area}.{i}", "emergency-stop", {"11": f"c{area}.{i}", "12": f"c{area}.{i + 1}"})
        for i in range(SITE_STOPS):
            here = STOPS + 1 + i
            self.site[i] |= {f"{area}1": f"c{area}.{here}", f"{area}2": f"c{area}.{here + 1}"}
        end, bridged = f"c{area}.{STOPS + SITE_STOPS + 1}", mistake == "zone held ahead of chain"
        self._add(f"SK{area}", "key-switch", {"13": end, "14": f"k{area}"})
        poles = {str(2 * p - 1): f"u{area}.{p}" for p in (1, 2, 3)} | {str(2 * p): f"z{area}.{p}" for p in (1, 2, 3)}
        held = f"c{area}.{STOPS}" if bridged else end
        self._add(f"KM{area}", "contactor", {"A1": f"k{area}", "A2": "N", "13": held, "14": f"k{area}"} | poles, **COIL)
        for number in range(1, MACHINES + 1):
            self._machine(area, f"{area}.{number}", mistake if number == 4 else "")
            if bridged:
                over = [f"ES{area}.{STOPS}"] + [f"ES{i}" for i in range(1, SITE_STOPS + 1)]
                self.broken |= {("stop-cuts", stop, f"M{area}.{number}") for stop in over}

    def _machine(self, area, own, mistake):
        feed = "u" if mistake == "fed ahead of zone" else "z"
        p1, p2, p3 = (f"{feed}{area}.{p}" for p in (1, 2, 3))
        selector = mistake == "selector instead of holding"
        self._add(f"FC{own}", "fuse", {"1": p1, "2": f"a{own}"}, rating_a=2.0)
        self._add(
            f"FM{own}", "overload",
            {"1": f"s{own}", "2": f"t{own}", "3": f"v{own}", "4": f"w{own}", "5": f"x{own}", "6": f"y{own}",
             "95": f"a{own}", "96": f"b{own}"},
            reset="manual",
        )
        self._add(f"SH{own}", "push-button", {"11": f"b{own}", "12": f"d{own}"}, role="stop")
        start = f"SA{own}" if selector else f"S{own}"
        if selector:
            self._add(start, "selector", {"13": f"d{own}", "14": f"e{own}"})
        else:
            ahead = "b" if mistake == "start ahead of own stop" else "d"
            self._add(start, "push-button", {"13": f"{ahead}{own}", "14": f"e{own}"}, role="start")
        terminals = {"A1": f"e{own}", "A2": "N", "1": p1, "2": f"s{own}", "3": p2, "4": f"v{own}", "5": p3, "6": f"x{own}"}
        if not selector:
            terminals |= {"13": f"{'b' if mistake == 'holding ahead of own stop' else 'd'}{own}", "14": f"e{own}"}
        self._add(f"K{own}", "contactor", terminals, **COIL)
        motor = f"M{own}"
        self._add(motor, "motor-3ph", {"U": f"t{own}", "V": f"w{own}", "W": f"y{own}"})
        stops = [f"SH{own}"] + [f"ES{area}.{i}" for i in range(1, STOPS + 1)] + [f"ES{i}" for i in range(1, SITE_STOPS + 1)]
        self.asked |= {(stop, motor): "cut" for stop in stops}
        self.own[motor] = {start}
        if mistake == "holding ahead of own stop":
            self.broken.add(("stop-cuts", stops[0], motor))
        elif mistake == "fed ahead of zone":
            self.broken |= {("stop-cuts", stop, motor) for stop in stops[1:]}
        elif mistake == "start ahead of own stop":
            self.broken.add(("stop-beats-start", stops[0], motor))
        elif selector:
            # no holding contact: letting go of the momentary stop, or turning the zone's key, runs it again
            self.broken |= {("release-return", stops[0], motor), ("release-return", f"SK{area}", motor)}
