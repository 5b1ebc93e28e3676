"""What motors, drives, lamps and loads do in a settled state (DESIGN 4.2)."""

from .netlist import MOTOR_KINDS

STOPPED, MAYBE, RUNS = 0, 1, 2
OFF_BELOW = 0.05  # of the rated volts of a winding


def _nets(behaviour, device):
    return {t: behaviour.circuit.nets[n] for t, n in device.terminals.items()}


def drive_inputs(behaviour, device, state):
    """(fed, enabled, run input closed) of a drive."""
    volts, net = behaviour.volts(state), _nets(behaviour, device)
    fed = len({volts.potential(net[t]) for t in "RST"} - {None}) >= 2

    def closed(a, b):
        return a not in net or b not in net or volts.cls[net[a]] == volts.cls[net[b]]

    return fed, closed("STO1", "STO2"), closed("RUN1", "RUN2")


def _drive_mode(behaviour, device, state):
    fed, enabled, run = drive_inputs(behaviour, device, state)
    if device.get("on_power_return", "runs") == "waits":
        run = run and bool(state & behaviour.circuit.bits[device.name, "ready"])
    return "run" if fed and enabled and run else None


def _three(volts, nodes, net):
    """Potentials of three terminals and how many different ones."""
    keys = [volts.potential(net[t]) for t in nodes]
    return keys, len(set(keys) - {None})


def mode(behaviour, device, state):
    """How a motor runs, or None when it does not for certain."""
    volts, net = behaviour.volts(state), _nets(behaviour, device)
    if device.kind == "drive":
        return _drive_mode(behaviour, device, state)
    if device.kind == "motor-1ph":
        a, b = volts.potential(net["L"]), volts.potential(net["N"])
        if None in (a, b) or a[0] != b[0]:
            return None
        return "run" if volts.across(net["L"], net["N"]) >= OFF_BELOW * device.get("voltage_v", 230.0) else None
    if device.kind == "motor-3ph":
        _, many = _three(volts, ("U", "V", "W"), net)
        return _full(many, "run", [volts.volts(net[t])[0] for t in "UVW"])
    first, many_first = _three(volts, ("U1", "V1", "W1"), net)
    second, many_second = _three(volts, ("U2", "V2", "W2"), net)
    cls1 = [volts.cls[net[t]] for t in ("U1", "V1", "W1")]
    cls2 = [volts.cls[net[t]] for t in ("U2", "V2", "W2")]
    if device.kind == "motor-6lead":
        if len(set(cls2)) == 1:
            return _full(many_first, "star")
        for by in (1, 2):
            if all(cls1[k] == cls2[(k + by) % 3] or (first[k] and first[k] == second[(k + by) % 3]) for k in range(3)):
                return _full(many_first, "delta")
        return None
    apart = device.get("slow_ends", "joined") == "apart"
    if many_first >= 2 and many_second == 0 and len(set(cls2)) == 3:
        return _full(many_first, "slow")
    if many_second >= 2:
        if apart and many_first == 0 and len(set(cls1)) == 3:
            return _full(many_second, "fast")
        if not apart and len(set(cls1)) == 1:
            return _full(many_second, "fast")
    return None


def _full(many, word, phasors=None):
    if many == 2:
        return "single-phasing"
    if many < 3:
        return None
    if phasors and abs(phasors[0]) > 1:
        turn = (phasors[1] / phasors[0]).imag
        return "forward" if turn < 0 else "reverse"
    return word


def motor_state(behaviour, device, state):
    if mode(behaviour, device, state):
        return RUNS
    volts = behaviour.volts(state)
    if device.kind == "drive":
        fed, enabled, run = drive_inputs(behaviour, device, state)
        if not enabled or not run or fed:
            return STOPPED  # dead, or standing still by its own inputs
    if any(volts.across(a, b) >= OFF_BELOW * rated for a, b, rated in behaviour.circuit.windings[device.name]):
        return MAYBE
    return STOPPED


def load_state(behaviour, device, state):
    """Lamps and loads: on between two different potentials, or at three quarters of the rated volts; never under a fifth."""
    volts, net = behaviour.volts(state), _nets(behaviour, device)
    ratio = volts.across(net["1"], net["2"]) / device.get("voltage_v", 230.0)
    if ratio < 0.20:
        return STOPPED
    potentials = {volts.potential(net["1"]), volts.potential(net["2"])}
    return RUNS if ratio >= 0.75 or None not in potentials and len(potentials) == 2 else MAYBE


def element_state(behaviour, device, state):
    return (motor_state if device.kind in MOTOR_KINDS else load_state)(behaviour, device, state)
