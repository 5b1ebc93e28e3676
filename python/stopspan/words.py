"""Words that stopspan takes and gives, as enumerations that are text: ``Starter.DIRECT == "direct"``."""

import enum


class _Word(str, enum.Enum):
    def __str__(self) -> str:
        return str(self.value)


class DeviceKind(_Word):
    """Kinds of devices of a circuit."""

    MAINS_3PH = "mains-3ph"
    MAINS_1PH = "mains-1ph"
    DC_SUPPLY = "dc-supply"
    TRANSFORMER = "transformer"
    ISOLATOR = "isolator"
    FUSE = "fuse"
    OVERLOAD = "overload"
    PUSH_BUTTON = "push-button"
    SELECTOR = "selector"
    KEY_SWITCH = "key-switch"
    PEDAL = "pedal"
    FLOOR_BAR = "floor-bar"
    PULL_WIRE = "pull-wire"
    EMERGENCY_STOP = "emergency-stop"
    GUARD_SWITCH = "guard-switch"
    CONTACTOR = "contactor"
    RELAY = "relay"
    TIMER = "timer"
    LATCHED_CONTACTOR = "latched-contactor"
    STOP_RELAY = "stop-relay"
    MOTOR_1PH = "motor-1ph"
    MOTOR_3PH = "motor-3ph"
    MOTOR_6LEAD = "motor-6lead"
    MOTOR_2SPEED = "motor-2speed"
    DRIVE = "drive"
    LAMP = "lamp"
    LOAD = "load"
    RESISTOR = "resistor"
    CAPACITOR = "capacitor"
    CABLE = "cable"
    INSULATION_MONITOR = "insulation-monitor"
    LINK = "link"


class Starter(_Word):
    """How a machine is started."""

    ONE_PHASE_IN_LINE = "one-phase-in-line"
    ONE_PHASE_ONE_POLE = "one-phase-one-pole"
    ONE_PHASE_TWO_POLE = "one-phase-two-pole"
    DIRECT = "direct"
    REVERSING = "reversing"
    STAR_DELTA = "star-delta"
    TWO_SPEED = "two-speed"
    DRIVE = "drive"
    AS_FOUND = "as-found"


class CableMethod(_Word):
    """How a cable is laid (IEC 60204-1 annex D)."""

    B1 = "B1"
    B2 = "B2"
    C = "C"
    E = "E"


class ControlSupply(_Word):
    """What feeds the control circuit of a machine."""

    SAME_SUPPLY = "same-supply"
    DC_SUPPLY = "dc-supply"
    TRANSFORMER = "transformer"


class Place(_Word):
    """Where a stop device stands."""

    MACHINE = "machine"
    WALL = "wall"
    FLOOR = "floor"


class ZoneLink(_Word):
    """How the stop devices of a zone act on its machines."""

    SERIES_CHAIN = "series-chain"
    ZONE_RELAY = "zone-relay"
    ZONE_CONTACTOR = "zone-contactor"
    CONTACT_BLOCKS = "contact-blocks"
    STOP_RELAY = "stop-relay"


class Asked(_Word):
    """What a stop device must do to a machine or load."""

    CUT = "cut"
    KEEP = "keep"
    FREE = "free"


class Target(_Word):
    """What faults a stop function must outlive (ISO 13849-1): nothing asked, any one, several that add up unnoticed."""

    NONE = "none"
    SINGLE_FAULT = "single-fault"
    ACCUMULATED_FAULTS = "accumulated-faults"


class PerformanceLevel(_Word):
    """How reliable a safety function is (ISO 13849-1), the later the better."""

    A = "a"
    B = "b"
    C = "c"
    D = "d"
    E = "e"


class SafetyCategory(_Word):
    """How a safety function behaves with faults (ISO 13849-1); not the category of a stop."""

    B = "B"
    ONE = "1"
    TWO = "2"
    THREE = "3"
    FOUR = "4"


class ErrorCode(enum.IntEnum):
    """What kind of refusal a ModelError is. Numbers are never changed."""

    BAD_VALUE = 1
    DUPLICATE_NAME = 2
    UNKNOWN_NAME = 3
    BAD_TERMINAL = 4
    MISSING_VALUE = 5
    CONTRADICTION = 6
    UNREADABLE = 7
    UNWRITABLE = 8
    NO_EXPORTER = 9
    BAD_ACT = 10
