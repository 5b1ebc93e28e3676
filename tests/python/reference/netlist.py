"""Plain netlists: devices as rows, and what their kinds and terminal numbers mean (DESIGN 4.1)."""

from dataclasses import dataclass, field

HAND_KINDS = {
    "push-button", "selector", "key-switch", "pedal", "floor-bar", "pull-wire", "emergency-stop", "guard-switch",
}
COIL_KINDS = {"contactor", "relay", "timer"}
MOTOR_KINDS = {"motor-1ph", "motor-3ph", "motor-6lead", "motor-2speed", "drive"}
SOURCE_KINDS = {"mains-3ph", "mains-1ph", "dc-supply", "transformer"}

_ACTIONS = {
    "selector": "maintained", "guard-switch": "maintained", "key-switch": "spring-return",
    "emergency-stop": "latching", "pull-wire": "latching",
}
_ROLES = {"selector": "select", "key-switch": "reset", "push-button": "none"}


@dataclass(frozen=True)
class Device:
    """One row of a netlist: designation, kind, terminal -> net, parameters."""

    name: str
    kind: str
    terminals: dict = field(hash=False)
    parameters: dict = field(default_factory=dict, hash=False)

    def get(self, parameter, otherwise=None):
        return self.parameters.get(parameter, otherwise)

    @property
    def is_hand(self):
        return self.kind in HAND_KINDS

    @property
    def action(self):
        """momentary, latching or maintained; a spring return is momentary too."""
        action = self.get("action", _ACTIONS.get(self.kind, "momentary"))
        return "momentary" if action == "spring-return" else action

    @property
    def role(self):
        return self.get("role", _ROLES.get(self.kind, "stop"))

    @property
    def machine(self):
        return self.get("machine", self.name if self.kind in MOTOR_KINDS else None)

    def net(self, terminal):
        return self.terminals.get(terminal)


def sense(kind, number):
    """What the contact with this odd terminal number is, or None when the kind has no such contact."""
    if kind == "overload":
        if number in (1, 3, 5):
            return "always"
        return {95: "break", 97: "make"}.get(number)
    if number < 10:
        return "pole" if kind in ("isolator", "contactor", "relay", "latched-contactor") else None
    return {1: "break", 3: "make", 5: "delayed-break", 7: "delayed-make"}.get(number % 10)


def contacts(device):
    """(first net, second net, sense, number) of every contact of a device."""
    found = []
    for terminal, net in device.terminals.items():
        if not terminal.isdigit() or int(terminal) % 2 == 0:
            continue
        other = device.net(str(int(terminal) + 1))
        what = sense(device.kind, int(terminal))
        if other is not None and what is not None:
            found.append((net, other, what, int(terminal)))
    return found


def netlist(rows):
    """Devices from rows (designation, kind, terminals, parameters)."""
    return [Device(name, kind, dict(terminals), dict(parameters)) for name, kind, terminals, parameters in rows]
