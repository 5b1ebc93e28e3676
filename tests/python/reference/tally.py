"""Which claims are compared and counted, and how they spread."""

from collections import Counter

from .claims import FAILS, HOLDS, PERHAPS
from .machines import STOPPED

# Claims of these rules are one for each thing that could start a machine; counted once a machine, the worst of them.
ONE_A_MACHINE = {"power-return", "release-return", "trip-return", "own-start"}
STOP_RULES = {"stop-cuts", "stop-beats-start"}
OF_ARMATURES = {"contact-race", "chatter"}
STATUSES = (HOLDS, PERHAPS, FAILS)


def worse(a, b):
    return max(a, b, key=STATUSES.index)


def counted(claims):
    """(rule, subject or "", machine, load or "") -> (status, needs a search), without claims true of themselves.

    Those are claims on machines that never run, on races of one armature alone, and on shorts where no contact can
    bring any about.

    A claim that holds is taken as settled by structure wherever that can be argued at all, so the share that needs
    a search is a lower bound. The nets behind an isolator are one claim.
    """
    ever = {m for m in claims.machines if any(claims.running(m, s) != STOPPED for s in claims.exploration.reached)}
    found, alone = {}, len(claims.circuit.coils) + len(claims.circuit.latches) < 2
    for (rule, subject, machine), status in claims.status.items():
        if machine in claims.machines and machine not in ever:
            continue
        if rule in OF_ARMATURES and alone or rule == "interlock-holds" and not subject and not claims.can_short():
            continue
        if rule == "isolator-clears" and machine not in claims.machines:
            machine = ""
        key = (rule, "" if rule in ONE_A_MACHINE else subject, machine)
        search = status != HOLDS or rule in STOP_RULES and not claims.by_structure(subject, machine)
        before = found.get(key, (HOLDS, False))
        found[key] = (worse(before[0], status), before[1] or search)
    return found


def spread(tallies):
    """Counts per rule and status, and of those the ones decided by search, of many circuits' counted claims."""
    per_rule, searched = {}, Counter()
    for tally in tallies:
        for (rule, _, _), (status, search) in tally.items():
            per_rule.setdefault(rule, Counter())[status] += 1
            searched[rule] += search
    return per_rule, searched
