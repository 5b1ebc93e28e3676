#include "stopspan/description.hpp"

#include "base/words.hpp"
#include "installation/limits.hpp"
#include "installation/outline.hpp"

#include <unordered_set>
#include <utility>

namespace stopspan {
namespace {

template <class Handles>
void check_no_repeats(const std::string &object, std::string_view what, const Handles &handles) {
    std::unordered_set<std::uint32_t> seen;
    for (const auto handle : handles)
        if (!seen.insert(handle.value).second)
            throw Error(ErrorCode::duplicate_name,
                        object + ": one of its " + std::string(what) + " is listed twice; list it once");
}

bool has_reset(ZoneLink link) {
    return link != ZoneLink::series_chain && link != ZoneLink::contact_blocks;
}

// That what a zone says beside its link goes with the link.
void check_link(const std::string &object, const Zone &zone) {
    const std::string linked = object + ": a zone linked by " + std::string(to_text(zone.link));
    const std::string by_others = "link it by zone-relay, zone-contactor or stop-relay";
    if (!has_reset(zone.link) && !zone.reset.empty())
        throw Error(ErrorCode::contradiction,
                    linked + " has nothing to reset; leave reset " + zone.reset + " away, or " + by_others);
    if (!has_reset(zone.link) && zone.automatic_reset)
        throw Error(ErrorCode::contradiction,
                    linked + " has nothing to reset; leave automatic_reset away, or " + by_others);
    if (zone.automatic_reset && !zone.reset.empty())
        throw Error(ErrorCode::contradiction,
                    object + ": with automatic_reset nobody presses reset " + zone.reset + "; leave one of them away");
    if (zone.channels && zone.link != ZoneLink::stop_relay)
        throw Error(ErrorCode::contradiction,
                    linked + " has no channels; leave channels away, or link it by stop-relay");
    if (zone.channels)
        check_number(object, "channels", *zone.channels, 1, 2);
    if ((zone.stop_relay_failures_per_h || zone.stop_relay_category) && zone.link != ZoneLink::stop_relay)
        throw Error(ErrorCode::contradiction, linked + " has no stop relay; leave stop_relay_failures_per_h and "
                                                       "stop_relay_category away, or link it by stop-relay");
    if (zone.stop_relay_failures_per_h)
        check_number(object, "stop_relay_failures_per_h", *zone.stop_relay_failures_per_h, 1e-12, 1e-4);
    if (zone.common_cause_score)
        check_number(object, "common_cause_score", *zone.common_cause_score, 0, 100);
}

} // namespace

template <class Handle>
void Description::check_id(Handle id, std::size_t count, const std::string &object, std::string_view what) const {
    if (id.value >= count)
        throw Error(ErrorCode::unknown_name, object + ": its " + std::string(what) + " (number " +
                                                 std::to_string(id.value) + ") is not in this description; add the " +
                                                 std::string(what) + " first and use the handle add() gives");
}

SupplyId Description::add(Supply supply) {
    const std::string object = "supply " + supply.name;
    check_name("supply", supply.name);
    check_designation(object, "name", supply.name);
    check_free(Kind::supply, supply.name);
    if (supply.kind != DeviceKind::mains_3ph && supply.kind != DeviceKind::mains_1ph)
        throw Error(ErrorCode::bad_value, object + ": " + with_article(to_text(supply.kind)) +
                                              " does not feed a site; use mains-3ph or mains-1ph");
    check_number(object, "voltage_v", supply.voltage_v, 10, 1000);
    check_number(object, "frequency_hz", supply.frequency_hz, 10, 400);
    if (supply.impedance_ohm)
        check_number(object, "impedance_ohm", *supply.impedance_ohm, 0, 100);
    const std::vector<Claim> claims{{supply.name, object}};
    check_claims(claims);
    take(Kind::supply, supply.name, supplies_.size(), claims);
    supplies_.push_back(std::move(supply));
    return {static_cast<std::uint32_t>(supplies_.size() - 1)};
}

BoardId Description::add(Board board) {
    const std::string object = "board " + board.name;
    check_name("board", board.name);
    check_free(Kind::board, board.name);
    if (board.supply && board.fed_from)
        throw Error(ErrorCode::contradiction, object + ": it has a supply and a board that feeds it; give one of them");
    if (!board.supply && !board.fed_from)
        throw Error(ErrorCode::missing_value,
                    object + ": nothing feeds it; give the supply or the board it is fed from");
    if (board.supply)
        check_id(*board.supply, supplies_.size(), object, "supply");
    if (board.fed_from)
        check_id(*board.fed_from, boards_.size(), object, "feeding board");
    check_position(object, board.at);
    if (board.area) {
        check_id(*board.area, areas_.size(), object, "area");
        check_inside(object, *board.area, board.at);
    }
    std::vector<Claim> claims;
    if (!board.isolator.empty()) {
        check_designation(object, "isolator", board.isolator);
        claims.push_back({board.isolator, "the isolator of " + object});
    }
    check_claims(claims);
    take(Kind::board, board.name, boards_.size(), claims);
    boards_.push_back(std::move(board));
    return {static_cast<std::uint32_t>(boards_.size() - 1)};
}

AreaId Description::add(Area area) {
    const std::string object = "area " + area.name;
    check_name("area", area.name);
    check_free(Kind::area, area.name);
    if (!area.floor.empty())
        check_name(object + ": floor", area.floor);
    check_outline(object, area.outline);
    if (area.within) {
        check_id(*area.within, areas_.size(), object, "outer area");
        const Area &outer = areas_[area.within->value];
        if (!is_inside(outer.outline, area.outline))
            throw Error(ErrorCode::contradiction, object + ": its outline leaves the outer area " + outer.name +
                                                      "; correct one of the outlines, or leave the outer area away");
    }
    if (area.board)
        check_id(*area.board, boards_.size(), object, "board");
    std::unordered_set<std::string_view> exits;
    for (const Exit &exit : area.exits) {
        const std::string door = "exit " + exit.name + " of " + object;
        check_name("exit of " + object, exit.name);
        if (!exits.insert(exit.name).second)
            throw Error(ErrorCode::duplicate_name, door + ": the area has two exits of this name; choose another");
        check_position(door, exit.at);
        if (!is_inside(area.outline, exit.at))
            throw Error(ErrorCode::contradiction,
                        door + ": " + describe(exit.at) + " is outside the area; correct the place or the outline");
    }
    std::unordered_set<std::string_view> obstacles;
    for (const Obstacle &obstacle : area.obstacles) {
        const std::string thing = "obstacle " + obstacle.name + " of " + object;
        check_name("obstacle of " + object, obstacle.name);
        if (!obstacles.insert(obstacle.name).second)
            throw Error(ErrorCode::duplicate_name, thing + ": the area has two obstacles of this name; choose another");
        check_outline(thing, obstacle.outline);
        if (!is_inside(area.outline, obstacle.outline))
            throw Error(ErrorCode::contradiction, thing + ": its outline leaves the area; correct one of the outlines");
        for (const Exit &exit : area.exits)
            if (is_well_inside(obstacle.outline, exit.at))
                throw Error(ErrorCode::contradiction, thing + ": exit " + exit.name + " at " + describe(exit.at) +
                                                          " is in it; correct the place or the outline");
    }
    std::vector<Claim> claims;
    check_position(object + ": isolator", area.isolator_at);
    if (!area.isolator.empty()) {
        check_designation(object, "isolator", area.isolator);
        if (!is_inside(area.outline, area.isolator_at))
            throw Error(ErrorCode::contradiction, object + ": its isolator " + area.isolator + " at " +
                                                      describe(area.isolator_at) +
                                                      " is outside the area; correct isolator_at or the outline");
        claims.push_back({area.isolator, "the isolator of " + object});
    }
    check_claims(claims);
    const AreaId id{static_cast<std::uint32_t>(areas_.size())};
    take(Kind::area, area.name, id.value, claims);
    inner_areas_.emplace_back();
    machines_in_.emplace_back();
    if (area.within)
        inner_areas_[area.within->value].push_back(id);
    areas_.push_back(std::move(area));
    return id;
}

MachineId Description::add(Machine machine) {
    const std::string object = "machine " + machine.name;
    check_name("machine", machine.name);
    check_free(Kind::machine, machine.name);
    check_id(machine.area, areas_.size(), object, "area");
    if (machine.board)
        check_id(*machine.board, boards_.size(), object, "board");
    if (machine.at) {
        check_position(object, *machine.at);
        check_inside(object, machine.area, *machine.at);
        check_accessible(object, machine.area, *machine.at);
    }
    check_starter(machine, object);

    // The machine's own name is claimed too: verdicts and replays name machines and devices alike. A machine that
    // is nothing but its motor may have the motor's designation.
    std::vector<Claim> claims{{machine.name, object}};
    bool shares_name = false;
    for (const Motor &motor : machine.motors) {
        check_designation(object, "motor", motor.name);
        if (motor.name == machine.name && !std::exchange(shares_name, true))
            continue;
        claims.push_back({motor.name, "motor " + motor.name + " of " + object});
    }
    if (!machine.isolator.empty()) {
        check_designation(object, "isolator", machine.isolator);
        claims.push_back({machine.isolator, "the isolator of " + object});
    }
    check_claims(claims);
    const MachineId id{static_cast<std::uint32_t>(machines_.size())};
    take(Kind::machine, machine.name, id.value, claims);
    machines_in_[machine.area.value].push_back(id);
    machines_.push_back(std::move(machine));
    return id;
}

LoadId Description::add(KeptLoad load) {
    const std::string object = "kept load " + load.name;
    check_name("kept load", load.name);
    check_designation(object, "name", load.name);
    check_free(Kind::load, load.name);
    check_id(load.area, areas_.size(), object, "area");
    if (load.board)
        check_id(*load.board, boards_.size(), object, "board");
    check_position(object, load.at);
    check_inside(object, load.area, load.at);
    check_number(object, "voltage_v", load.voltage_v, 1, 1000);
    check_number(object, "current_a", load.current_a, 1e-4, 1e5);
    const std::vector<Claim> claims{{load.name, object}};
    check_claims(claims);
    take(Kind::load, load.name, loads_.size(), claims);
    loads_.push_back(std::move(load));
    return {static_cast<std::uint32_t>(loads_.size() - 1)};
}

StopId Description::add(StopDevice stop) {
    const std::string object = "stop device " + stop.name;
    check_name("stop device", stop.name);
    check_designation(object, "name", stop.name);
    check_free(Kind::stop, stop.name);
    if (!is_actuator(stop.kind))
        throw Error(ErrorCode::bad_value, object + ": nobody can operate a " + std::string(to_text(stop.kind)) +
                                              "; use push-button, selector, key-switch, pedal, floor-bar, pull-wire, "
                                              "emergency-stop or guard-switch");
    check_id(stop.area, areas_.size(), object, "area");
    if (stop.machine)
        check_id(*stop.machine, machines_.size(), object, "machine");
    else if (stop.place == Place::machine)
        throw Error(ErrorCode::missing_value,
                    object + ": it stands on a machine, but on none that is named; give the machine, or place wall or "
                             "floor");
    if (stop.at) {
        check_position(object, *stop.at);
        check_inside(object, stop.area, *stop.at);
        check_accessible(object, stop.area, *stop.at);
    }
    if (stop.height_m)
        check_number(object, "height_m", *stop.height_m, 0, 10);
    if (stop.contact_blocks && *stop.contact_blocks < 1)
        throw Error(ErrorCode::bad_value, object + ": it has no contact block left (" +
                                              std::to_string(*stop.contact_blocks) +
                                              "), so it can stop nothing; give contact_blocks of at least 1, or leave "
                                              "it away to have as many as the wiring needs");
    if (stop.contact_blocks)
        check_number(object, "contact_blocks", *stop.contact_blocks, 1, 99);
    if (stop.operations_per_year)
        check_number(object, "operations_per_year", *stop.operations_per_year, 0.01, 1e9);
    if (stop.b10d_cycles)
        check_number(object, "b10d_cycles", *stop.b10d_cycles, 1, 1e12);
    const std::vector<Claim> claims{{stop.name, object}};
    check_claims(claims);
    take(Kind::stop, stop.name, stops_.size(), claims);
    stops_.push_back(std::move(stop));
    return {static_cast<std::uint32_t>(stops_.size() - 1)};
}

ZoneId Description::add(Zone zone) {
    const std::string object = "zone " + zone.name;
    check_name("zone", zone.name);
    check_free(Kind::zone, zone.name);
    for (const StopId id : zone.devices)
        check_id(id, stops_.size(), object, "stop device");
    for (const MachineId id : zone.machines)
        check_id(id, machines_.size(), object, "machine");
    for (const AreaId id : zone.areas)
        check_id(id, areas_.size(), object, "area");
    for (const ZoneId id : zone.zones)
        check_id(id, zones_.size(), object, "zone");
    if (zone.board)
        check_id(*zone.board, boards_.size(), object, "board");
    check_no_repeats(object, "stop devices", zone.devices);
    check_no_repeats(object, "machines", zone.machines);
    check_no_repeats(object, "areas", zone.areas);
    check_no_repeats(object, "zones", zone.zones);
    if (zone.devices.empty())
        throw Error(ErrorCode::missing_value, object + ": it has no stop device; name at least one");
    if (zone.machines.empty() && zone.areas.empty() && zone.zones.empty())
        throw Error(ErrorCode::missing_value,
                    object + ": it has nothing to stop; name machines, areas or zones it acts through");
    std::vector<Claim> claims;
    if (!zone.reset.empty()) {
        check_designation(object, "reset", zone.reset);
        claims.push_back({zone.reset, "the reset device of " + object});
    }
    check_link(object, zone);
    check_claims(claims);
    take(Kind::zone, zone.name, zones_.size(), claims);
    zones_.push_back(std::move(zone));
    return {static_cast<std::uint32_t>(zones_.size() - 1)};
}

void Description::arrange(ZoneId id, ZoneLink link, std::optional<int> channels) {
    check_id(id, zones_.size(), "arrange", "zone");
    Zone changed = zones_[id.value];
    changed.link = link;
    changed.channels = channels;
    if (link != ZoneLink::stop_relay) {
        changed.stop_relay_failures_per_h.reset();
        changed.stop_relay_category.reset();
    }
    if (!has_reset(link)) {
        changed.reset.clear();
        changed.automatic_reset = false;
    }
    check_link("zone " + changed.name, changed);
    zones_[id.value] = std::move(changed);
}

void Description::feed(AreaId area, BoardId board) {
    check_id(area, areas_.size(), "feed", "area");
    const std::string object = "area " + areas_[area.value].name;
    check_id(board, boards_.size(), object, "board");
    const std::optional<BoardId> before = std::exchange(areas_[area.value].board, board);
    try {
        std::vector<AreaId> within{area};
        while (!within.empty()) {
            const AreaId at = within.back();
            within.pop_back();
            within.insert(within.end(), inner_areas_[at.value].begin(), inner_areas_[at.value].end());
            for (const MachineId each : machines_in_[at.value])
                check_starter(machines_[each.value], "machine " + machines_[each.value].name);
        }
    } catch (...) {
        areas_[area.value].board = before;
        throw;
    }
}

} // namespace stopspan
