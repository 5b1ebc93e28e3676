"""A works that nothing was laid out for: long names and designations, letters of several scripts, stops in a long row,
outlines with corners, an area of a square metre beside one of a hundred. Everything here is invented."""

import stopspan

HALL, NICHE, CABIN, YARD = "Große Schiffbauhalle mit Schnürboden und Kranbahn", "Öl-Nische", "Zähler", "Dreieckhof"


def add_places(shop):
    shop.add_supply("G1")
    shop.add_area(
        HALL,
        floor="Erdgeschoß",
        outline_m=[(0, 0), (120, 0), (120, 40), (70, 40), (70, 85), (30, 85), (30, 60), (0, 60)],
        exits_m={"Tor Nord (Slipanlage)": (50, 84.9), "Tür Süd": (10, 0.1), "Tür Süd 2": (12, 0.1), "出口": (119.9, 20)},
    )
    shop.add_area(NICHE, within=HALL, outline_m=[(2, 2), (6, 2), (6, 5), (4, 5), (4, 4), (2, 4)])
    shop.add_area(CABIN, floor="Zwischengeschoß", outline_m=[(0, 0), (1.2, 0), (1.2, 0.8), (0, 0.8)])
    shop.add_area(YARD, floor="Hof", outline_m=[(0, 0), (30, 0), (15, 26)], exits_m={"Törchen": (15, 0.2)})
    shop.add_board("UV-HAUPTHALLE-01", supply="G1", area=HALL, at_m=(1, 59))
    shop.add_board("UV2", fed_from="UV-HAUPTHALLE-01", area=YARD, at_m=(14, 1))
    for area, board in ((HALL, "UV-HAUPTHALLE-01"), (CABIN, "UV-HAUPTHALLE-01"), (YARD, "UV2")):
        shop.feed(area, board)


def add_machines(shop):
    def machine(number, name, area, at_m, kw, motor="", isolator="", **how):
        volts = 230 if how.get("starter", "").startswith("one-phase") else 400
        motors = [stopspan.Motor(motor or f"M{number}", kw, volts)]
        shop.add_machine(name, area=area, at_m=at_m, motors=motors, isolator=isolator or f"Q{number}", **how)

    def through(kind, volts):
        return {"control": kind, "control_voltage_v": volts}

    long_name = "Spantenbiegemaschine für Längsspanten (Presse Nr. 1)"
    machine(1, long_name, HALL, (20, 30), 11, "MPRESSE01", starter="reversing", **through("transformer", 230))
    machine(2, "Hobel", HALL, (22, 30), 4, starter="star-delta", star_time_s=4, **through("dc-supply", 24))
    machine(3, "Säge", HALL, (22, 31), 3, starter="two-speed", **through("transformer", 110))
    machine(4, "Winde µ≥Ω", HALL, (60, 80), 2.2, starter="drive", **through("transformer", 24))
    machine(5, "Ölpumpe", NICHE, (3, 3), 0.25, starter="one-phase-in-line")
    machine(6, "Lüfter", NICHE, (5, 4), 0.25, starter="one-phase-two-pole")
    machine(7, "Zählerantrieb", CABIN, (0.5, 0.4), 0.18, starter="one-phase-one-pole")
    machine(8, "Hofkran", YARD, (12, 6), 5.5, starter="direct", **through("transformer", 48))
    long_name = "Schleifbock-Doppelaggregat mit Absaugung Süd"
    machine(9, long_name, YARD, (18, 6), 1.5, "", "QHAUPTSCHALTER9", starter="reversing", **through("dc-supply", 24))


def add_stops_and_zones(shop):
    row = [f"ES{i}" if i % 4 != 1 else f"SNOTHALT{i}" for i in range(1, 15)]
    for i, name in enumerate(row):
        shop.add_stop(name, area=HALL, at_m=(2 + 8 * i, 0.3))
    shop.add_zone("Halle längs", link="series-chain", devices=row, areas=[HALL])
    for i, kind in enumerate(["floor-bar", "pedal", "pull-wire", "floor-bar", "pedal"]):
        shop.add_stop(f"B{i + 1}", kind=kind, area=YARD, place="floor", at_m=(13 + i, 3), height_m=0.1)
    shop.add_zone("Hof ÄÖÜ", link="zone-contactor", devices=["B1", "B2", "B3"], areas=[YARD], reset="SQUITTIERUNG1")
    shop.add_zone("Hof Süd", link="zone-relay", devices=["B4", "B5"], machines=["Hofkran"], reset="S92")
    shop.add_stop("ES20", area=CABIN, at_m=(0.1, 0.1))
    shop.add_zone("Zähler", link="contact-blocks", devices=["ES20"], areas=[CABIN])
    shop.add_stop("ES21", area=YARD, at_m=(15, 25))
    shop.add_zone("Alles", link="series-chain", devices=["ES21"], zones=["Halle längs", "Hof ÄÖÜ", "Zähler"])


def describe():
    shop = stopspan.Installation("Bootswerft am Süßwasser, Łódź-Nord und Ålesund")
    add_places(shop)
    add_machines(shop)
    shop.add_load("E1", area=HALL, at_m=(50, 50), current_a=4)
    shop.add_load("EBELEUCHTUNG02", area=YARD, at_m=(15, 15), current_a=2)
    add_stops_and_zones(shop)
    title = shop.title_block
    title.owner, title.title, title.number = "Bootswerft am Süßwasser", "Not-Halt-Bereiche", "ŁÖ-2025/Ä-001"
    title.revision, title.author, title.date = "Ω", "Zoë Größmann", "2025-12-31"
    return shop
