#pragma once

#include "stopspan/description.hpp"

// The fields of each element of the installation file, once for both directions: `Io` is XmlReader or XmlWriter.
// Order here is the order in the file.
namespace stopspan {

/// How a word of the file becomes a value; the other way is to_text().
inline DeviceKind from_text(std::string_view text, DeviceKind) {
    return device_kind(text);
}
inline Starter from_text(std::string_view text, Starter) {
    return starter(text);
}
inline ControlSupply from_text(std::string_view text, ControlSupply) {
    return control_supply(text);
}
inline CableMethod from_text(std::string_view text, CableMethod) {
    return cable_method(text);
}
inline Place from_text(std::string_view text, Place) {
    return place(text);
}
inline ZoneLink from_text(std::string_view text, ZoneLink) {
    return zone_link(text);
}
inline Asked from_text(std::string_view text, Asked) {
    return asked_cell(text);
}
inline Target from_text(std::string_view text, Target) {
    return fault_target(text);
}
inline Status from_text(std::string_view text, Status) {
    return status(text);
}
inline Found from_text(std::string_view text, Found) {
    return found_cell(text);
}
inline PerformanceLevel from_text(std::string_view text, PerformanceLevel) {
    return performance_level(text);
}
inline SafetyCategory from_text(std::string_view text, SafetyCategory) {
    return safety_category(text);
}

/// How a name of the file becomes a handle.
inline SupplyId from_name(const Description &in, std::string_view name, SupplyId) {
    return in.supply(name);
}
inline BoardId from_name(const Description &in, std::string_view name, BoardId) {
    return in.board(name);
}
inline AreaId from_name(const Description &in, std::string_view name, AreaId) {
    return in.area(name);
}
inline MachineId from_name(const Description &in, std::string_view name, MachineId) {
    return in.machine(name);
}
inline StopId from_name(const Description &in, std::string_view name, StopId) {
    return in.stop(name);
}
inline ZoneId from_name(const Description &in, std::string_view name, ZoneId) {
    return in.zone(name);
}

template <class Io>
void fields(Io &io, TitleBlock &it) {
    io.text_or_default("owner", it.owner);
    io.text_or_default("title", it.title);
    io.text_or_default("number", it.number);
    io.text_or_default("revision", it.revision);
    io.text_or_default("date", it.date);
    io.text_or_default("author", it.author);
    io.text_or_default("approved", it.approved);
    io.text_or_default("language", it.language, TitleBlock().language);
}

template <class Io>
void fields(Io &io, Position &it) {
    io.needed("x_m", it.x_m);
    io.needed("y_m", it.y_m);
}

/// A place that may be unknown: both numbers or neither.
template <class Io>
void place_if_known(Io &io, std::optional<Position> &at) {
    std::optional<double> x_m, y_m;
    if (at) {
        x_m = at->x_m;
        y_m = at->y_m;
    }
    io.if_known("x_m", x_m);
    io.if_known("y_m", y_m);
    if (!x_m && !y_m)
        return;
    at = Position{x_m.value_or(0), y_m.value_or(0)};
    if (!x_m)
        io.needed("x_m", at->x_m);
    if (!y_m)
        io.needed("y_m", at->y_m);
}

template <class Io>
void fields(Io &io, Supply &it) {
    io.needed("name", it.name);
    io.word("kind", it.kind);
    io.usual("voltage_v", it.voltage_v);
    io.usual("frequency_hz", it.frequency_hz);
    io.if_known("impedance_ohm", it.impedance_ohm);
}

template <class Io>
void fields(Io &io, Board &it) {
    io.needed("name", it.name);
    io.reference("supply", it.supply);
    io.reference("fed_from", it.fed_from);
    io.reference("area", it.area);
    io.usual("x_m", it.at.x_m);
    io.usual("y_m", it.at.y_m);
    io.if_any("isolator", it.isolator);
}

template <class Io>
void fields(Io &io, Exit &it) {
    io.needed("name", it.name);
    fields(io, it.at);
}

template <class Io>
void fields(Io &io, Obstacle &it) {
    io.needed("name", it.name);
    io.children("corner", it.outline);
}

template <class Io>
void fields(Io &io, Area &it) {
    io.needed("name", it.name);
    io.reference("within", it.within);
    io.if_any("floor", it.floor);
    io.late_reference("board", it.board); // the board may stand in this very area
    io.if_any("isolator", it.isolator);
    io.if_not_zero("isolator_x_m", it.isolator_at.x_m);
    io.if_not_zero("isolator_y_m", it.isolator_at.y_m);
    io.children("corner", it.outline);
    io.children("exit", it.exits);
    io.children("obstacle", it.obstacles);
}

template <class Io>
void fields(Io &io, Motor &it) {
    io.needed("name", it.name);
    io.needed("power_kw", it.power_kw);
    io.usual("voltage_v", it.voltage_v);
    io.if_known("current_a", it.current_a);
    io.if_known("efficiency", it.efficiency);
    io.if_known("power_factor", it.power_factor);
    io.if_known("starting_current_ratio", it.starting_current_ratio);
    io.if_known("starting_time_s", it.starting_time_s);
    io.if_known("capacitor_uf", it.capacitor_uf);
    io.if_known("slow_power_kw", it.slow_power_kw);
    io.if_known("slow_current_a", it.slow_current_a);
}

template <class Io>
void fields(Io &io, Machine &it) {
    io.needed("name", it.name);
    io.reference("area", it.area);
    io.reference("board", it.board);
    place_if_known(io, it.at);
    io.word("starter", it.starter);
    io.word("control", it.control);
    io.usual("control_voltage_v", it.control_voltage_v);
    io.if_any("isolator", it.isolator);
    io.usual("mechanical_interlock", it.mechanical_interlock);
    io.usual("star_time_s", it.star_time_s);
    io.usual("stop_category", it.stop_category);
    io.usual("stop_delay_s", it.stop_delay_s);
    io.if_known("run_down_s", it.run_down_s);
    io.if_known("run_down_without_supply_s", it.run_down_without_supply_s);
    io.if_known("cable_length_m", it.cable_length_m);
    io.word_if_known("cable_method", it.cable_method);
    io.if_known("cable_grouping", it.cable_grouping);
    io.if_known("ambient_c", it.ambient_c);
    io.if_known("days_per_year", it.days_per_year);
    io.if_known("hours_per_day", it.hours_per_day);
    io.if_known("cycle_time_s", it.cycle_time_s);
    io.if_set("well_tried", it.well_tried);
    io.children("motor", it.motors);
}

template <class Io>
void fields(Io &io, KeptLoad &it) {
    io.needed("name", it.name);
    io.reference("area", it.area);
    io.reference("board", it.board);
    fields(io, it.at);
    io.usual("voltage_v", it.voltage_v);
    io.usual("current_a", it.current_a);
}

template <class Io>
void fields(Io &io, StopDevice &it) {
    io.needed("name", it.name);
    io.word("kind", it.kind);
    io.reference("area", it.area);
    io.reference("machine", it.machine);
    io.word("place", it.place);
    place_if_known(io, it.at);
    io.if_known("height_m", it.height_m);
    io.if_known("contact_blocks", it.contact_blocks);
    io.usual("reset_on_device", it.reset_on_device);
    io.if_known("operations_per_year", it.operations_per_year);
    io.if_known("b10d_cycles", it.b10d_cycles);
    io.if_set("well_tried", it.well_tried);
}

template <class Io>
void fields(Io &io, Zone &it) {
    io.needed("name", it.name);
    io.word("link", it.link);
    io.if_any("reset", it.reset);
    io.reference("board", it.board);
    io.word_or_default("target", it.target, Target::no_fault);
    io.if_known("channels", it.channels);
    io.if_set("automatic_reset", it.automatic_reset);
    io.word_if_known("performance_level", it.performance_level);
    io.if_known("common_cause_score", it.common_cause_score);
    io.if_set("well_tried", it.well_tried);
    io.if_known("stop_relay_failures_per_h", it.stop_relay_failures_per_h);
    io.word_if_known("stop_relay_category", it.stop_relay_category);
    io.members("stop-device", it.devices);
    io.members("machine", it.machines);
    io.members("area", it.areas);
    io.members("zone", it.zones);
}

/// A finding's subject: a designation, a machine, a net.
struct Subject {
    std::string name;
};

template <class Io>
void fields(Io &io, Subject &it) {
    io.needed("name", it.name);
}

template <class Io>
void fields(Io &io, Connection &it) {
    io.needed("name", it.terminal);
    io.needed("net", it.net);
}

} // namespace stopspan
