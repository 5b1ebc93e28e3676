"""A netlist made ready for solving: numbered nets, one bit per thing that can change, contacts as masks."""

import math

from .netlist import COIL_KINDS, MOTOR_KINDS, SOURCE_KINDS, contacts

EARTH = 0  # number of net PE
FEED_OHM = 1e6  # of a primary or a supply's feed: no load to speak of, but an open side follows the other one


class Coil:
    """A coil: its nets, rated volts, and admittances with its armature out and in."""

    def __init__(self, device, first, second, bit):
        self.name, self.first, self.second, self.bit = device.name, first, second, bit
        self.rated_v = float(device.get("coil_voltage_v"))
        self.is_ac = device.get("coil_current", "AC") == "AC"
        self.drop_below = 0.20 if self.is_ac else 0.10
        if self.is_ac:
            hold, inrush = device.get("hold_va", 8.0), device.get("inrush_va", 70.0)
            self.out, self.inside = (self._inductive(inrush, 0.75), self._inductive(hold, 0.3))
        else:
            ohm = self.rated_v**2 / device.get("hold_w", 3.0)
            self.out = self.inside = (1 / ohm, 1 / ohm)

    def _inductive(self, va, power_factor):
        """(admittance at AC, at DC): the resistance alone counts at DC."""
        size = self.rated_v**2 / va
        z = size * complex(power_factor, math.sqrt(1 - power_factor**2))
        return 1 / z, 1 / z.real


class StopRelay:
    """A stop relay: its coil, the loops it asks for (pairs of nets, or None where one is not wired), and what it
    remembers: that its reset was seen open, and which channels are in inside."""

    def __init__(self, device, coil, nets, bit):
        def loop(a, b):
            return (nets[a], nets[b]) if a in nets else None

        self.coil, self.bit = coil, bit(device.name)
        count = device.get("channels", 2 if "S11" in nets and "S21" in nets else 1)
        rows = [loop("S11", "S12"), loop("S21", "S22")]
        self.inputs = rows[: int(count)] if "channels" in device.parameters else [row for row in rows if row]
        self.reset, self.feedback = loop("S33", "S34"), loop("Y1", "Y2")
        self.automatic = device.get("reset") == "automatic" or self.reset is None
        self.armed = bit(device.name, "armed")
        self.channels = [bit(device.name, "channel", k) for k in range(len(self.inputs))] if len(self.inputs) > 1 else []
        self.all_channels = sum(self.channels)


class Source:
    """A source: (net, phasor or volts, bit that takes the pole away) of its poles, and what feeds it."""

    def __init__(self, device):
        self.device, self.name, self.kind = device, device.name, device.kind
        self.poles, self.feed, self.earthed, self.lost = [], None, None, 0
        self.short_circuit_a = None  # known and limited, or None
        self.cold_primary_v = None  # rated primary volts as seen in the cold circuit, when not given


class Compiled:
    """Numbers for nets and state bits. A state is an integer: bit set = pressed, open, tripped, blown, lost, in."""

    def __init__(self, devices):
        self.devices = {d.name: d for d in devices}
        self.fault, self.fault_bit, self.stuck = None, 0, 0  # one more thing that may happen, see faults
        self.nets = {"PE": EARTH}
        for d in devices:
            for net in d.terminals.values():
                self.nets.setdefault(net, len(self.nets))
        self.bits = {}
        self.contacts = []  # (net, net, mask, value): closed when state & mask == value
        self.owners = []  # per contact: (device, sense, number)
        self.coils, self.latches, self.sources, self.fixed = [], [], [], []
        self.stop_relays = {}  # designation -> StopRelay; its coil is among the coils, too
        self.fuses = {}  # contact index -> (rating_a, bit)
        for d in devices:
            self._add(d)
        self.size = len(self.nets)  # and the star points of motors
        self.windings = {}  # motor -> [(node, node, rated volts)]
        for d in devices:
            if d.kind in MOTOR_KINDS:
                self._windings(d)
        self.timers = [d for d in devices if d.kind == "timer"]
        self.waiting_drives = [d for d in devices if d.kind == "drive" and d.get("on_power_return") == "waits"]
        for d in self.waiting_drives:
            self.bit(d.name, "ready")
        self.interlocks = set()  # pairs of bits, each both ways: never in together
        for d in devices:
            other = d.get("interlocked_with")
            if other:
                a, b = self.bits[d.name], self.bits[other]
                self.interlocks |= {(a, b), (b, a)}

    def bit(self, *key):
        name = key[0] if len(key) == 1 else key
        return self.bits.setdefault(name, 1 << len(self.bits))

    def _close(self, device, a, b, mask, value, what, number=0):
        self.contacts.append((self.nets[a], self.nets[b], mask, value))
        self.owners.append((device, what, number))

    def _add(self, d):
        net = {t: self.nets[n] for t, n in d.terminals.items()}
        if d.kind in SOURCE_KINDS:
            self._source(d)
        elif d.is_hand:
            bit, away = self.bit(d.name), self.bit(d.name, "between")
            for a, b, what, number in contacts(d):
                self._close(d, a, b, bit | away, bit if what == "make" else 0, what, number)
        elif d.kind == "isolator":
            bit, early = self.bit(d.name), self.bit(d.name, "early")
            for a, b, what, number in contacts(d):
                mask = bit | early if what == "make" else bit
                self._close(d, a, b, mask, bit if what == "break" else 0, what, number)
        elif d.kind == "fuse":
            bit = self.bit(d.name)
            self.fuses[len(self.contacts)] = (float(d.get("rating_a", 6.0)), bit)
            self._close(d, d.net("1"), d.net("2"), bit, 0, "fuse")
        elif d.kind == "overload":
            bit = self.bit(d.name)
            for a, b, what, number in contacts(d):
                mask, value = (0, 0) if what == "always" else (bit, bit if what == "make" else 0)
                self._close(d, a, b, mask, value, what, number)
        elif d.kind in COIL_KINDS:
            bit = self.bit(d.name)
            self.coils.append(Coil(d, net["A1"], net["A2"], bit))
            self._armature_contacts(d, bit)
        elif d.kind == "stop-relay":
            coil = Coil(d, net["A1"], net["A2"], self.bit(d.name))
            self.coils.append(coil)
            self.stop_relays[d.name] = StopRelay(d, coil, net, self.bit)
            self._armature_contacts(d, coil.bit)
        elif d.kind == "latched-contactor":
            bit = self.bit(d.name)
            self.latches.append((Coil(d, net["C1"], net["C2"], bit), Coil(d, net["E1"], net["E2"], bit), bit))
            self._armature_contacts(d, bit)
        elif d.kind in ("lamp", "load"):
            ohm = d.get("voltage_v", 230.0) / d.get("current_a", 0.02 if d.kind == "lamp" else 1.0)
            self.fixed.append((net["1"], net["2"], 1 / ohm, 1 / ohm))
        elif d.kind == "resistor":
            self.fixed.append((net["1"], net["2"], 1 / d.get("resistance_ohm"), 1 / d.get("resistance_ohm")))
        elif d.kind == "capacitor":
            self.fixed.append((net["1"], net["2"], 2j * math.pi * 50 * d.get("capacitance_uf") * 1e-6, 0.0))
        elif d.kind == "link":
            self._close(d, d.net("1"), d.net("2"), 0, 0, "link")
        elif d.kind not in MOTOR_KINDS:
            raise NotImplementedError(f"{d.name}: the reference does not know kind {d.kind}")

    def _armature_contacts(self, d, bit):
        delayed = self.bit(d.name, "delayed") if d.kind == "timer" else 0
        for a, b, what, number in contacts(d):
            mask = delayed if what.startswith("delayed") else bit
            self._close(d, a, b, mask, 0 if what.endswith("break") else mask, what, number)

    def _source(self, d):
        s = Source(d)
        net = {t: self.nets[n] for t, n in d.terminals.items()}
        s.earthed = d.get("earthed_pole", "N" if d.kind.startswith("mains") else None)
        if d.kind.startswith("mains"):
            volts = d.get("voltage_v", 230.0)
            turn = complex(-0.5, -math.sqrt(3) / 2)  # 120 degrees behind
            for k, pole in enumerate(("L1", "L2", "L3") if d.kind == "mains-3ph" else ("L",)):
                if pole in net:
                    bit = self.bit(d.name, pole)
                    s.poles.append((pole, net[pole], volts * turn**k, bit))
                    s.lost |= bit
            neutral = net.get("N")
            if neutral is None:  # there all the same, only not led out
                neutral = self.nets.setdefault(f"{d.name}:N", len(self.nets))
            s.poles.append(("N", neutral, 0j, 0))
        else:
            bit = s.lost = self.bit(d.name, "lost")
            plus, minus, feed = ("P", "M", ("ac1", "ac2")) if d.kind == "dc-supply" else ("s1", "s2", ("p1", "p2"))
            volts = d.get("voltage_v") if d.kind == "dc-supply" else d.get("secondary_v")
            s.poles = [(plus, net[plus], float(volts), bit), (minus, net[minus], 0.0, bit)]
            if all(t in net for t in feed):
                s.feed = (net[feed[0]], net[feed[1]])
                self.fixed.append((*s.feed, 1 / FEED_OHM, 1 / FEED_OHM))
            if d.kind == "dc-supply" and d.get("power_w"):
                s.short_circuit_a = d.get("power_w") / volts
            if d.kind == "transformer" and d.get("rating_va"):
                s.short_circuit_a = 10 * d.get("rating_va") / volts
        self.sources.append(s)

    def _windings(self, d):
        """Windings of a motor as fixed impedances; rated volts per winding go with them."""
        net = {t: self.nets[n] for t, n in d.terminals.items()}
        rated = d.get("voltage_v", 230.0 if d.kind == "motor-1ph" else 400.0)
        size = rated**2 / (d.get("power_kw", 1.0) * 1000 / 0.64)
        windings = []
        if d.kind == "motor-1ph":
            windings = [(net["L"], net["N"], 1, rated)]
        elif d.kind == "motor-6lead":
            windings = [(net[p + "1"], net[p + "2"], 3, rated) for p in "UVW"]
        elif d.kind == "motor-2speed" and d.get("slow_ends", "joined") == "joined":
            ring = ["U1", "U2", "V1", "V2", "W1", "W2", "U1"]
            windings = [(net[a], net[b], 1, rated / 2) for a, b in zip(ring, ring[1:])]
        else:
            stars = [("U", "V", "W")] if d.kind == "motor-3ph" else [("R", "S", "T")]
            if d.kind == "motor-2speed":
                stars = [("U1", "V1", "W1"), ("U2", "V2", "W2")]
            for star in stars:
                windings += [(net[t], self.size, 1, rated / math.sqrt(3)) for t in star]
                self.size += 1
        for a, b, factor, rated_v in windings:
            z = factor * size * complex(0.8, 0.6)
            self.fixed.append((a, b, 1 / z, 1 / z.real))
        self.windings[d.name] = [(a, b, rated_v) for a, b, _, rated_v in windings]
