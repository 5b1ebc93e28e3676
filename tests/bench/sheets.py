"""How long all sheets take, drawn and written as DXF: of the demo works, and of a campus of 1,000 machines.

The answers are checked: each machine has its motor on exactly one sheet, and each stop is in the commissioning list. Printed is the ratio to reading the same DXF with ezdxf, which does about the same work backwards.

    .venv/bin/python tests/bench/sheets.py
"""

import io
import pathlib
import re
import resource
import sys
import time

import ezdxf

import stopspan

MACHINES_OF_AREA, STOPS_OF_AREA = 10, 8


def campus(machines: int) -> stopspan.Installation:
    """Halls of ten machines started direct, each hall with a zone contactor and eight stops; four more for fifty halls."""
    shop = stopspan.Installation("Campus")
    shop.add_supply("G1")
    halls = []
    for hall in range(1, machines // MACHINES_OF_AREA + 1):
        name = f"Hall {hall}"
        halls.append(name)
        left = 60.0 * hall
        shop.add_area(name, outline_m=[(left, 0), (left + 50, 0), (left + 50, 30), (left, 30)])
        shop.add_board(f"D{hall}", supply="G1", area=name, at_m=(left + 1, 1))
        shop.feed(name, f"D{hall}")
        for i in range(1, MACHINES_OF_AREA + 1):
            motor = stopspan.Motor(f"M{hall}.{i}", 2.2)
            at_m = (left + 4.5 * i, 15)
            shop.add_machine(f"Machine {hall}.{i}", area=name, at_m=at_m, motors=[motor], isolator=f"Q{hall}.{i}")
        stops = [f"ES{hall}.{i}" for i in range(1, STOPS_OF_AREA + 1)]
        for i, stop in enumerate(stops, 1):
            shop.add_stop(stop, area=name, at_m=(left + 5 * i, 29.5), height_m=1.2)
        shop.add_zone(name, link="zone-contactor", devices=stops, areas=[name], reset=f"S{hall}.9")
    # A stop has a contact block in each hall it reaches, and no more than 99: one site for every fifty halls.
    for first in range(0, len(halls), 50):
        site = [f"ES{first + i}" for i in range(1, 5)]
        for i, stop in enumerate(site, 1):
            shop.add_stop(stop, area=halls[first], at_m=(60.0 * (first + 1) + 10 * i, 0.5), height_m=1.2)
        shop.add_zone(f"Site {first}", link="series-chain", devices=site, zones=halls[first : first + 50])
    return shop


def demo() -> stopspan.Installation:
    sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "examples"))
    import demo

    return demo.describe()


def best_of(runs, work):
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        result = work()
        times.append(time.perf_counter() - start)
    return min(times), result


def motors_in(dxf: bytes) -> int:
    """Counted in the bytes: of a large works ezdxf would take minutes."""
    return len(re.findall(rb"\nINSERT\n(?:.*\n){1,12}? *2\n(?:MOTOR_\w+|DRIVE)\n", dxf))


def measure(name: str, shop: stopspan.Installation, runs: int, read: bool) -> None:
    sheets_s, drawing = best_of(runs, shop.drawing)
    dxf_s, dxf = best_of(runs, lambda: stopspan.render(drawing, "dxf"))
    lists_s, lists = best_of(runs, shop.lists)
    memory_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

    motors = [device.designation for device in shop.circuit().devices if re.match("motor|drive", device.kind)]
    assert motors_in(dxf) == len(motors), "a motor is drawn on no sheet, or on several"
    tried = {row[2] for row in lists["commissioning"].rows if row[1] == "stop-cuts"}
    assert set(shop.circuit().stops) <= tried, "a stop has no line to be tried by"
    ratio = ""
    if read:
        read_s, document = best_of(1, lambda: ezdxf.read(io.StringIO(dxf.decode())))
        inserts = document.modelspace().query("INSERT")
        drawn = [i.get_attrib_text("DESIGNATION") for i in inserts if re.match("MOTOR_|DRIVE$", i.dxf.name)]
        assert sorted(drawn) == sorted(motors), "a motor is drawn on no sheet, or on several"
        ratio = f"; ezdxf takes {read_s / dxf_s:.0f} times as long to read it"
    print(
        f"{name}: {len(drawing)} sheets {sheets_s:.3f} s, DXF {dxf_s:.3f} s ({len(dxf) / 1e6:.0f} MB), "
        f"lists {lists_s:.3f} s, at most {memory_mib:.0f} MiB{ratio}"
    )


if __name__ == "__main__":
    measure("demo", demo(), 5, True)
    measure("100 machines", campus(100), 3, True)
    measure("1,000 machines", campus(1000), 1, False)
