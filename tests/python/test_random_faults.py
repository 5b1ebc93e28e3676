"""earth-fault, single-fault, one-origin, earthed-side and coil-volts against the second implementation, on random circuits.

Every fault of a circuit happens in every reachable state of the reference, followed by any acts. STOPSPAN_FAULT_CIRCUITS
sets how many circuits (60 when unset) and STOPSPAN_FAULTS_EACH how many of their faults, drawn at random (12); 0 is all of
them. STOPSPAN_FIRST_CIRCUIT is the number of the first.
"""

import os

import pytest
from fault_comparison import compare, compare_many

pytestmark = pytest.mark.xdist_group("random_faults")

MANY = int(os.environ.get("STOPSPAN_FAULT_CIRCUITS", "60"))
EACH = int(os.environ.get("STOPSPAN_FAULTS_EACH", "12"))
FIRST = int(os.environ.get("STOPSPAN_FIRST_CIRCUIT", "0"))


@pytest.fixture(scope="module")
def compared():
    return compare_many(FIRST, MANY, EACH)


def test_both_say_alike_what_each_fault_takes_away(compared):
    faults, taking = sum(c.faults for c in compared), sum(c.taking for c in compared)
    print(f"\n{faults} faults of {sum(c.faults > 0 for c in compared)} circuits compared, {taking} of them take something away")
    assert {c.number: c.fault_differences for c in compared if c.fault_differences} == {}
    assert taking > MANY / 2


# A link's wire comes off; a machine that only perhaps runs; a contact straight between two poles; a machine that runs only
# once its supply came back; volts that reach a coil through a rail; a coil that seems to come in while a button dwells;
# a load that comes off and leaves a coil more volts; a start that jams ahead of a timer; a contact straight between two
# poles, of a relay that is always fed; a stop that stands in no circuit of a machine that only runs while its start is held;
# what hangs on a circuit and draws its volts down once conductors touch (twice).
@pytest.mark.parametrize("number", [5243, 5380, 7148, 9226, 5234, 31540, 33806, 33844, 36972, 42670, 43058, 45325])
def test_circuits_that_once_differed(number):
    found = compare(number, 0)
    assert (found.too_large, found.fault_differences, found.wiring_differences) == (False, [], {})


def test_both_judge_origins_earthed_sides_and_coil_volts_alike(compared):
    print(f"\n{sum(not c.too_large for c in compared)} circuits compared")
    assert {c.number: c.wiring_differences for c in compared if c.wiring_differences} == {}
