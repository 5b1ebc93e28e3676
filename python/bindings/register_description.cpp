#include "bindings.hpp"

#include "stopspan/description.hpp"
#include "stopspan/error.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;
using OptionalText = std::optional<std::string>;
using Number = std::optional<double>;

namespace {

// In Python things are referred to by name: these turn names into handles, and name what is unknown.
template <class Handle>
using Lookup = Handle (Description::*)(std::string_view) const;

// An Error on the way says for what the name or word was given.
template <class Work>
auto given(const std::string &what, const Work &work) {
    try {
        return work();
    } catch (const Error &error) {
        throw Error(error.code(), what + ": " + error.what());
    }
}

template <class Handle>
std::optional<Handle> find(const Description &in, Lookup<Handle> lookup, const OptionalText &name,
                           const std::string &what) {
    return name ? given(what, [&] { return std::optional((in.*lookup)(*name)); }) : std::nullopt;
}

template <class Handle>
std::vector<Handle> find_all(const Description &in, Lookup<Handle> lookup, const py::object &names,
                             const std::string &what) {
    std::vector<Handle> found;
    for (const std::string &name : to_names(names, what))
        found.push_back(given(what, [&] { return (in.*lookup)(name); }));
    return found;
}

std::vector<Motor> motors_of(const std::string &machine, const py::object &motors) {
    std::vector<Motor> made;
    const py::object motor_type = py::type::of<Motor>();
    for (const py::handle each : py::reinterpret_borrow<py::iterable>(motors)) {
        if (py::isinstance<Motor>(each)) {
            made.push_back(each.cast<Motor>());
        } else if (py::isinstance<py::dict>(each)) {
            try {
                made.push_back(motor_type(**py::reinterpret_borrow<py::dict>(each)).cast<Motor>());
            } catch (const py::error_already_set &error) {
                if (!error.matches(PyExc_TypeError))
                    throw;
                throw Error(ErrorCode::bad_value, machine +
                                                      ": a motor's fields are name (text), power_kw and voltage_v "
                                                      "(numbers; voltage_v may be left away), not " +
                                                      std::string(py::repr(each)));
            }
        } else {
            throw Error(ErrorCode::bad_value, machine +
                                                  ": a motor is a stopspan.Motor or a dict as {\"name\": \"M1\", "
                                                  "\"power_kw\": 3, \"voltage_v\": 400}, not " +
                                                  std::string(py::repr(each)));
        }
    }
    return made;
}

void add_supply(Installation &self, const std::string &name, const std::string &kind, double voltage_v,
                double frequency_hz, Number impedance_ohm) {
    self.description.add(Supply{name, given(name + ": kind", [&] { return device_kind(kind); }), voltage_v,
                                frequency_hz, impedance_ohm});
}

void add_board(Installation &self, const std::string &name, const OptionalText &supply, const OptionalText &fed_from,
               const OptionalText &area, const py::object &at_m, const std::string &isolator) {
    Description &in = self.description;
    in.add(Board{name, find<SupplyId>(in, &Description::supply, supply, name + ": supply"),
                 find<BoardId>(in, &Description::board, fed_from, name + ": fed_from"),
                 find<AreaId>(in, &Description::area, area, name + ": area"), to_position(at_m, name + ": at_m"),
                 isolator});
}

std::vector<Position> to_outline(const py::handle &corners, const std::string &area, const std::string &field) {
    if (!py::isinstance<py::iterable>(corners))
        throw Error(ErrorCode::bad_value, area + ": " + field + " must be corners (x, y) in metres");
    std::vector<Position> outline;
    for (const py::handle corner : py::reinterpret_borrow<py::iterable>(corners))
        outline.push_back(to_position(corner, area + ": each corner of " + field));
    return outline;
}

std::optional<Position> place_if_known(const py::object &at_m, const std::string &what) {
    return at_m.is_none() ? std::nullopt : std::optional(to_position(at_m, what));
}

void add_area(Installation &self, const std::string &name, const py::object &outline_m, const OptionalText &within,
              const std::string &floor, const py::dict &exits_m, const py::dict &obstacles_m, const OptionalText &board,
              const std::string &isolator, const py::object &isolator_at_m) {
    Description &in = self.description;
    Area area{.name = name,
              .within = find<AreaId>(in, &Description::area, within, name + ": within"),
              .floor = floor,
              .outline = {},
              .exits = {},
              .obstacles = {},
              .board = find<BoardId>(in, &Description::board, board, name + ": board"),
              .isolator = isolator,
              .isolator_at = to_position(isolator_at_m, name + ": isolator_at_m")};
    area.outline = to_outline(outline_m, name, "outline_m");
    for (const auto &[exit, at] : exits_m)
        area.exits.push_back({exit.cast<std::string>(), to_position(at, name + ": each place in exits_m")});
    for (const auto &[obstacle, outline] : obstacles_m)
        area.obstacles.push_back(
            {obstacle.cast<std::string>(), to_outline(outline, name, "an outline in obstacles_m")});
    in.add(std::move(area));
}

void add_machine(Installation &self, const std::string &name, const std::string &area, const py::object &motors,
                 const py::object &at_m, const OptionalText &board, const std::string &starter_kind,
                 const std::string &control, double control_voltage_v, const std::string &isolator,
                 bool mechanical_interlock, double star_time_s, int stop_category, double stop_delay_s,
                 Number run_down_s, Number run_down_without_supply_s, Number cable_length_m, const OptionalText &method,
                 std::optional<int> cable_grouping, Number ambient_c, Number days_per_year, Number hours_per_day,
                 Number cycle_time_s, bool well_tried) {
    Description &in = self.description;
    Machine machine;
    machine.name = name;
    machine.area = given(name + ": area", [&] { return in.area(area); });
    machine.board = find<BoardId>(in, &Description::board, board, name + ": board");
    machine.at = place_if_known(at_m, name + ": at_m");
    machine.motors = motors_of(name, motors);
    machine.starter = given(name + ": starter", [&] { return starter(starter_kind); });
    machine.control = given(name + ": control", [&] { return control_supply(control); });
    machine.control_voltage_v = control_voltage_v;
    machine.isolator = isolator;
    machine.mechanical_interlock = mechanical_interlock;
    machine.star_time_s = star_time_s;
    machine.stop_category = stop_category;
    machine.stop_delay_s = stop_delay_s;
    machine.run_down_s = run_down_s;
    machine.run_down_without_supply_s = run_down_without_supply_s;
    machine.cable_length_m = cable_length_m;
    if (method)
        machine.cable_method = given(name + ": cable_method", [&] { return cable_method(*method); });
    machine.cable_grouping = cable_grouping;
    machine.ambient_c = ambient_c;
    machine.days_per_year = days_per_year;
    machine.hours_per_day = hours_per_day;
    machine.cycle_time_s = cycle_time_s;
    machine.well_tried = well_tried;
    in.add(std::move(machine));
}

void add_load(Installation &self, const std::string &name, const std::string &area, const py::object &at_m,
              const OptionalText &board, double voltage_v, double current_a) {
    Description &in = self.description;
    in.add(KeptLoad{name, given(name + ": area", [&] { return in.area(area); }),
                    find<BoardId>(in, &Description::board, board, name + ": board"), to_position(at_m, name + ": at_m"),
                    voltage_v, current_a});
}

void add_stop(Installation &self, const std::string &name, const std::string &area, const std::string &kind,
              const OptionalText &machine, const std::string &place_word, const py::object &at_m,
              std::optional<double> height_m, std::optional<int> contact_blocks, bool reset_on_device,
              Number operations_per_year, Number b10d_cycles, bool well_tried) {
    Description &in = self.description;
    in.add(StopDevice{name, given(name + ": kind", [&] { return device_kind(kind); }),
                      given(name + ": area", [&] { return in.area(area); }),
                      find<MachineId>(in, &Description::machine, machine, name + ": machine"),
                      given(name + ": place", [&] { return place(place_word); }), place_if_known(at_m, name + ": at_m"),
                      height_m, contact_blocks, reset_on_device, operations_per_year, b10d_cycles, well_tried});
}

template <class Lookup>
auto word_if_given(const OptionalText &text, const std::string &what, const Lookup &lookup) {
    return text ? std::optional(given(what, [&] { return lookup(*text); })) : std::nullopt;
}

void add_zone(Installation &self, const std::string &name, const std::string &link, const py::object &devices,
              const py::object &machines, const py::object &areas, const py::object &zones, const std::string &reset,
              const OptionalText &board, const std::string &target, std::optional<int> channels, bool automatic_reset,
              const OptionalText &level, Number common_cause_score, bool well_tried, Number stop_relay_failures_per_h,
              const OptionalText &stop_relay_category) {
    Description &in = self.description;
    in.add(Zone{name, given(name + ": link", [&] { return zone_link(link); }),
                find_all<StopId>(in, &Description::stop, devices, name + ": devices"),
                find_all<MachineId>(in, &Description::machine, machines, name + ": machines"),
                find_all<AreaId>(in, &Description::area, areas, name + ": areas"),
                find_all<ZoneId>(in, &Description::zone, zones, name + ": zones"), reset,
                find<BoardId>(in, &Description::board, board, name + ": board"),
                given(name + ": target", [&] { return fault_target(target); }), channels, automatic_reset,
                word_if_given(level, name + ": performance_level", performance_level), common_cause_score, well_tried,
                stop_relay_failures_per_h,
                word_if_given(stop_relay_category, name + ": stop_relay_category", safety_category)});
}

template <class Range>
std::vector<std::string> names_of(const Range &things) {
    std::vector<std::string> names;
    for (const auto &thing : things)
        names.push_back(thing.name);
    return names;
}

void register_values(py::module_ &module) {
    py::class_<Motor>(module, "Motor", "One motor of a machine.")
        .def(py::init([](const std::string &name, double power_kw, double voltage_v, Number current_a,
                         Number efficiency, Number power_factor, Number starting_current_ratio, Number starting_time_s,
                         Number capacitor_uf, Number slow_power_kw, Number slow_current_a) {
                 return Motor{name,
                              power_kw,
                              voltage_v,
                              current_a,
                              efficiency,
                              power_factor,
                              starting_current_ratio,
                              starting_time_s,
                              capacitor_uf,
                              slow_power_kw,
                              slow_current_a};
             }),
             "name"_a, "power_kw"_a, "voltage_v"_a = 400.0, py::kw_only(), "current_a"_a = py::none(),
             "efficiency"_a = py::none(), "power_factor"_a = py::none(), "starting_current_ratio"_a = py::none(),
             "starting_time_s"_a = py::none(), "capacitor_uf"_a = py::none(), "slow_power_kw"_a = py::none(),
             "slow_current_a"_a = py::none(),
             "Its name, power and voltage; the rest as on its plate, None is unknown.\n\nArgs:\n    "
             "starting_current_ratio: Starting over rated current, started direct.\n    capacitor_uf: Of a one-phase "
             "motor.\n    slow_power_kw: Of two speeds the slow one, as slow_current_a.")
        .def_readonly("name", &Motor::name)
        .def_readonly("power_kw", &Motor::power_kw)
        .def_readonly("voltage_v", &Motor::voltage_v)
        .def_readonly("current_a", &Motor::current_a)
        .def_readonly("efficiency", &Motor::efficiency)
        .def_readonly("power_factor", &Motor::power_factor)
        .def_readonly("starting_current_ratio", &Motor::starting_current_ratio)
        .def_readonly("starting_time_s", &Motor::starting_time_s)
        .def_readonly("capacitor_uf", &Motor::capacitor_uf)
        .def_readonly("slow_power_kw", &Motor::slow_power_kw)
        .def_readonly("slow_current_a", &Motor::slow_current_a)
        .def("__repr__", [](const Motor &self) { return "<Motor " + self.name + ">"; });

    py::class_<TestRecord>(module, "TestRecord", "What one trial on site gave.")
        .def(py::init([](const std::string &test, const std::string &device, const std::string &machine,
                         const std::string &result, std::optional<double> run_down_s, const std::string &name,
                         const py::object &date) {
                 TestRecord record{test, device, machine, test_result(result), run_down_s, name, to_date(date)};
                 Description().record(record); // refuses what is no record
                 return record;
             }),
             py::kw_only(), "test"_a, "device"_a = "", "machine"_a = "", "result"_a, "run_down_s"_a = py::none(),
             "name"_a, "date"_a)
        .def_readonly("test", &TestRecord::test, "Id of the rule it tried.")
        .def_readonly("device", &TestRecord::device)
        .def_readonly("machine", &TestRecord::machine)
        .def_property_readonly(
            "result", [](const TestRecord &self) { return to_text(self.result); }, "\"pass\" or \"fail\".")
        .def_readonly("run_down_s", &TestRecord::run_down_s, "Measured; None if it was not.")
        .def_readonly("name", &TestRecord::name, "Of the person.")
        .def_readonly("date", &TestRecord::date, "As \"2026-11-26\".")
        .def("__repr__", [](const TestRecord &self) {
            return "<TestRecord " + self.test + " " + self.device + " " + self.machine + ": " +
                   std::string(to_text(self.result)) + ", " + self.name + ", " + self.date + ">";
        });

    py::class_<TitleBlock>(module, "TitleBlock", "What every sheet says about itself (ISO 7200).")
        .def_readwrite("owner", &TitleBlock::owner)
        .def_readwrite("title", &TitleBlock::title)
        .def_readwrite("number", &TitleBlock::number)
        .def_readwrite("revision", &TitleBlock::revision)
        .def_readwrite("date", &TitleBlock::date)
        .def_readwrite("author", &TitleBlock::author)
        .def_readwrite("approved", &TitleBlock::approved)
        .def_readwrite("language", &TitleBlock::language);
}

} // namespace

void register_description(py::module_ &module, py::class_<Installation> &installation) {
    register_values(module);
    const py::tuple origin = py::make_tuple(0.0, 0.0);
    const py::none none;
    const py::tuple nothing;

    installation
        .def("add_supply", &add_supply, "name"_a, py::kw_only(), "kind"_a = "mains-3ph", "voltage_v"_a = 230.0,
             "frequency_hz"_a = 50.0, "impedance_ohm"_a = none,
             "Add a mains, \"mains-3ph\" or \"mains-1ph\"; the voltage is that to neutral, the impedance that of an "
             "earth-fault loop up to the boards it feeds.")
        .def("add_board", &add_board, "name"_a, py::kw_only(), "supply"_a = none, "fed_from"_a = none, "area"_a = none,
             "at_m"_a = origin, "isolator"_a = "",
             "Add a distribution board, fed from a supply or another board. Its nets are D1:L1, D1:L2, D1:L3 and D1:N, "
             "or "
             "D1:L and D1:N; what is recorded as found begins there.\n\nArgs:\n    isolator: Designation of its main "
             "switch; empty is none.")
        .def(
            "add_area", &add_area, "name"_a, py::kw_only(), "outline_m"_a, "within"_a = none, "floor"_a = "",
            "exits_m"_a = py::dict(), "obstacles_m"_a = py::dict(), "board"_a = none, "isolator"_a = "",
            "isolator_at_m"_a = origin,
            "Add a part of a floor or yard.\n\nArgs:\n    outline_m: Corners (x, y), at least three.\n    within: The "
            "area it is a part of.\n    exits_m: Name to place; an inner area with exits is a room, its outline a wall."
            "\n    obstacles_m: Name to corners of what nobody walks through.\n    board: Feeds its machines unless "
            "they "
            "name another; see also `feed`.\n    isolator: Designation of the one switch of the area; empty is none.")
        .def(
            "add_machine", &add_machine, "name"_a, py::kw_only(), "area"_a, "motors"_a, "at_m"_a = none,
            "board"_a = none, "starter"_a = "direct", "control"_a = "same-supply", "control_voltage_v"_a = 230.0,
            "isolator"_a = "", "mechanical_interlock"_a = true, "star_time_s"_a = 6.0, "stop_category"_a = 0,
            "stop_delay_s"_a = 0.0, "run_down_s"_a = none, "run_down_without_supply_s"_a = none,
            "cable_length_m"_a = none, "cable_method"_a = none, "cable_grouping"_a = none, "ambient_c"_a = none,
            "days_per_year"_a = none, "hours_per_day"_a = none, "cycle_time_s"_a = none, "well_tried"_a = false,
            "Add a thing that moves.\n\nArgs:\n    motors: Each a Motor, or a dict of its fields.\n    at_m: Where its "
            "operator stands; None: it is not on the plan.\n    starter: See "
            "`Starter`; \"as-found\" is wired in `recorded`.\n    control: See `ControlSupply`.\n    "
            "control_voltage_v: "
            "Of the control circuit; give 24 for a usual DC supply.\n    isolator: Designation of its isolator; empty "
            "is "
            "none.\n    mechanical_interlock: Between the contactors of reversing, star-delta and two-speed starters.\n"
            "    star_time_s: In star before delta.\n    stop_category: 0 or 1 (IEC 60204-1).\n    stop_delay_s: Of "
            "category 1, from the stop to power off.\n    run_down_s: From power off to standstill; None is unknown.\n"
            "    run_down_without_supply_s: The same when the supply fails, a brake's too.\n    cable_length_m: From "
            "its board; None: from the plan, for `sizes`.\n    cable_method: See `CableMethod`.\n    "
            "cable_grouping: Loaded circuits side by side.\n    ambient_c: Around its cable.\n    days_per_year: Used, "
            "with hours_per_day.\n    "
            "cycle_time_s: From one start to the next.\n    well_tried: Its contactors and relays are well-tried "
            "components (ISO 13849-2 table D.3).")
        .def("add_load", &add_load, "name"_a, py::kw_only(), "area"_a, "at_m"_a = origin, "board"_a = none,
             "voltage_v"_a = 230.0, "current_a"_a = 1.0, "Add a load that no stop may cut.")
        .def("add_stop", &add_stop, "name"_a, py::kw_only(), "area"_a, "kind"_a = "emergency-stop", "machine"_a = none,
             "place"_a = "wall", "at_m"_a = none, "height_m"_a = none, "contact_blocks"_a = none,
             "reset_on_device"_a = true, "operations_per_year"_a = none, "b10d_cycles"_a = none, "well_tried"_a = false,
             "Add a stop device.\n\nArgs:\n    machine: It stands on that machine and stops it.\n    at_m: None: where "
             "its "
             "machine is if it stands on it, else not on the plan.\n    height_m: Of its actuator above the floor.\n   "
             " contact_blocks: "
             "Break blocks it has; None is as many as the wiring needs.\n    kind: An actuator of `DeviceKind`.\n"
             "    place: See `Place`.\n    reset_on_device: A latching one is unlatched where it was pressed.\n    "
             "operations_per_year: How often it is used.\n    b10d_cycles: As its maker says; None: typical.\n    "
             "well_tried: It is a well-tried component, with direct opening action.")
        .def("add_zone", &add_zone, "name"_a, py::kw_only(), "link"_a = "zone-relay", "devices"_a = nothing,
             "machines"_a = nothing, "areas"_a = nothing, "zones"_a = nothing, "reset"_a = "", "board"_a = none,
             "target"_a = "none", "channels"_a = none, "automatic_reset"_a = false, "performance_level"_a = none,
             "common_cause_score"_a = none, "well_tried"_a = false, "stop_relay_failures_per_h"_a = none,
             "stop_relay_category"_a = none,
             "Add a stop zone: devices that share a span of control.\n\nArgs:\n    link: See `ZoneLink`.\n    areas: "
             "All machines in them are in the span.\n    zones: Zones through which this one acts.\n    reset: "
             "Designation of its reset device.\n    board: Feeds its circuit; None is that of its first machine.\n    "
             "target: Faults its stops must outlive, see `Target`.\n    channels: Of a stop relay, 1 or 2; None is 2.\n"
             "    automatic_reset: Its relay or contactors come in again as soon as all devices are released.\n    "
             "performance_level: That its stops must reach, see `PerformanceLevel`.\n    common_cause_score: ISO "
             "13849-1 "
             "annex F.\n    well_tried: Its contactors and relays.\n    stop_relay_failures_per_h: Dangerous ones, as "
             "the maker says.\n    stop_relay_category: Likewise, see `SafetyCategory`.")
        .def(
            "arrange",
            [](Installation &self, const std::string &zone, const std::string &link, std::optional<int> channels) {
                self.description.arrange(self.description.zone(zone),
                                         given(zone + ": link", [&] { return zone_link(link); }), channels);
            },
            "zone"_a, "link"_a, py::kw_only(), "channels"_a = none,
            "Link a zone another way. Where the new link has nothing to reset, its reset device is left away.")
        .def(
            "feed",
            [](Installation &self, const std::string &area, const std::string &board) {
                self.description.feed(self.description.area(area), self.description.board(board));
            },
            "area"_a, "board"_a,
            "Say which board feeds an area that is there already: one that stands in the area it feeds comes second.")
        .def(
            "ask",
            [](Installation &self, const std::string &stop, const std::string &machine, const std::string &asked) {
                self.description.ask(stop, machine, asked_cell(asked));
            },
            "stop"_a, "machine"_a, "asked"_a = "cut",
            "Ask for one cell of the matrix, beside what the zones ask: \"cut\", \"keep\" or \"free\".")
        .def(
            "waive", [](Installation &self, const Waiver &waiver) { self.description.waive(waiver); }, "waiver"_a,
            "Accept a finding as it is.\n\nRaises:\n    ModelError: There is a waiver for the same already.")
        .def(
            "record", [](Installation &self, const TestRecord &record) { self.description.record(record); }, "record"_a,
            "Keep what a trial on site gave.\n\nRaises:\n    ModelError: The same was recorded for that day already.")
        .def(
            "record_commissioning",
            [](Installation &self, const py::object &path) { return self.record_commissioning(to_path(path)); },
            "path"_a,
            "Keep the results of a commissioning list, a CSV file that was filled in; all of them or none.\n\n"
            "Rows without a result were not tried yet. Returns how many results there were.\n\n"
            "Raises:\n    FileError: With the line, where a row cannot be read or was recorded already.")
        .def_property_readonly(
            "test_records",
            [](const Installation &self) {
                return std::vector<TestRecord>(self.description.test_records().begin(),
                                               self.description.test_records().end());
            },
            "What trials on site gave, in the order of recording.")
        .def(
            "exclude_faults",
            [](Installation &self, const std::string &exclusion) { self.description.exclude_faults(exclusion); },
            "exclusion"_a,
            "Leave faults out, by the id of one of `stopspan.fault_exclusions`, saying that its condition is met.\n\n"
            "Raises:\n    ModelError: No such exclusion, or named already.")
        .def(
            "set_limit",
            [](Installation &self, const std::string &limit, double value) {
                self.description.set_limit(limit, value);
            },
            "limit"_a, "value"_a,
            "Change a number in a rule.\n\nRaises:\n    ModelError: No such limit, or out of range.")
        .def_property_readonly(
            "waivers",
            [](const Installation &self) {
                return std::vector<Waiver>(self.description.waivers().begin(), self.description.waivers().end());
            },
            "Findings accepted as they are.")
        .def_property_readonly(
            "fault_exclusions",
            [](const Installation &self) {
                const auto ids = self.description.fault_exclusions();
                return std::vector<std::string>(ids.begin(), ids.end());
            },
            "Ids of the faults left out.")
        .def_property_readonly(
            "limits", [](const Installation &self) { return self.description.limits(); },
            "Numbers in rules that differ here from those of the rule set.")
        .def_property_readonly(
            "asked",
            [](const Installation &self) {
                py::dict asked;
                for (const AskedCell &cell : self.description.asked())
                    asked[py::make_tuple(cell.stop, cell.machine)] = to_text(cell.asked);
                return asked;
            },
            "The wanted matrix: (stop, machine or load) to word.")
        .def(
            "span",
            [](const Installation &self, const std::string &zone) {
                std::vector<std::string> names;
                for (const MachineId id : self.description.span_of(self.description.zone(zone)))
                    names.push_back(self.description[id].name);
                return names;
            },
            "zone"_a, "Names of the machines that the devices of a zone must cut.")
        .def_property(
            "title_block", [](Installation &self) -> TitleBlock & { return self.description.title_block; },
            [](Installation &self, const TitleBlock &block) { self.description.title_block = block; },
            py::return_value_policy::reference_internal)
        .def_property(
            "north_deg", [](const Installation &self) { return self.description.north_deg(); },
            [](Installation &self, std::optional<double> degrees) { self.description.set_north(degrees); },
            "Which way north lies on the plans, degrees clockwise from the y axis; None: nobody said.")
        .def_property_readonly("supplies",
                               [](const Installation &self) { return names_of(self.description.supplies()); })
        .def_property_readonly("boards", [](const Installation &self) { return names_of(self.description.boards()); })
        .def_property_readonly("areas", [](const Installation &self) { return names_of(self.description.areas()); })
        .def_property_readonly("machines",
                               [](const Installation &self) { return names_of(self.description.machines()); })
        .def_property_readonly("loads", [](const Installation &self) { return names_of(self.description.loads()); })
        .def_property_readonly("stops", [](const Installation &self) { return names_of(self.description.stops()); })
        .def_property_readonly("zones", [](const Installation &self) { return names_of(self.description.zones()); });
}

} // namespace stopspan::python
