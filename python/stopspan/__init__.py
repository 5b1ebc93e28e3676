"""Proof of what every stop of a workshop really cuts, from the circuit as wired.

    shop = stopspan.Installation("Boatyard")   # or stopspan.load("boatyard.xml")
    verdict = shop.check()
    shop.export("boatyard.dxf")

The tool advises, people decide: isolate, lock off, prove dead; local codes prevail; verification and commissioning
by a competent, licensed person.
"""

try:
    from . import _core
except ImportError as error:  # what was built for another Python cannot be loaded by this one
    import platform
    import sys

    raise ImportError(
        f"stopspan: the compiled core cannot be loaded by Python {platform.python_version()} ({sys.executable}) on "
        f"{platform.platform()}; likely it was built for another Python or is not built: run 'pip install .' with "
        f"this Python. Cause: {error}"
    ) from error

from ._core import (
    Arrangement,
    ArrangementTable,
    CellChange,
    Circuit,
    Comparison,
    Device,
    Drawing,
    FailureRate,
    FaultExclusion,
    FileError,
    Finding,
    FindingChange,
    Installation,
    List,
    MatrixCell,
    ModelError,
    Motor,
    Overload,
    OverloadReplay,
    Rejected,
    Replay,
    Rule,
    RuleSet,
    Settled,
    Size,
    SizeInput,
    Sizes,
    StandingCheck,
    TestRecord,
    TitleBlock,
    UnknownInput,
    Verdict,
    Waiver,
    Walk,
    Witness,
    __version__,
    add_exporter,
    compare,
    dangerous_failures,
    fault_exclusions,
    formats,
    installation_schema,
    load,
    load_exporters,
    render,
    rule_sets,
    rules,
)
from .words import (
    Asked,
    CableMethod,
    ControlSupply,
    DeviceKind,
    ErrorCode,
    PerformanceLevel,
    Place,
    SafetyCategory,
    Starter,
    Target,
    ZoneLink,
)

__all__ = [
    "Arrangement",
    "ArrangementTable",
    "Asked",
    "CableMethod",
    "CellChange",
    "Circuit",
    "Comparison",
    "ControlSupply",
    "Device",
    "DeviceKind",
    "Drawing",
    "ErrorCode",
    "FailureRate",
    "FaultExclusion",
    "FileError",
    "Finding",
    "FindingChange",
    "Installation",
    "List",
    "MatrixCell",
    "ModelError",
    "Motor",
    "Overload",
    "OverloadReplay",
    "PerformanceLevel",
    "Place",
    "Rejected",
    "Replay",
    "Rule",
    "RuleSet",
    "SafetyCategory",
    "Settled",
    "Size",
    "SizeInput",
    "Sizes",
    "StandingCheck",
    "Starter",
    "Target",
    "TestRecord",
    "TitleBlock",
    "UnknownInput",
    "Verdict",
    "Waiver",
    "Walk",
    "Witness",
    "ZoneLink",
    "__version__",
    "add_exporter",
    "compare",
    "dangerous_failures",
    "fault_exclusions",
    "formats",
    "installation_schema",
    "load",
    "load_exporters",
    "render",
    "rule_sets",
    "rules",
]
