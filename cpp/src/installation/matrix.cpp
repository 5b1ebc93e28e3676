#include "stopspan/description.hpp"

#include <algorithm>
#include <unordered_set>

namespace stopspan {
namespace {

std::string cell_key(std::string_view stop, std::string_view column) {
    return std::string(stop) + '\n' + std::string(column);
}

} // namespace

std::optional<BoardId> Description::board_of(AreaId area) const {
    for (std::optional<AreaId> at = area; at; at = areas_.at(at->value).within)
        if (areas_.at(at->value).board)
            return areas_[at->value].board;
    return std::nullopt;
}

std::optional<BoardId> Description::board_of(const Machine &machine) const {
    return machine.board ? machine.board : board_of(machine.area);
}

std::optional<Position> Description::place_of(const StopDevice &stop) const {
    if (stop.at || stop.place != Place::machine || !stop.machine)
        return stop.at;
    return machines_.at(stop.machine->value).at;
}

SupplyId Description::supply_of(BoardId board) const {
    while (boards_.at(board.value).fed_from)
        board = *boards_[board.value].fed_from;
    return *boards_[board.value].supply;
}

std::vector<MachineId> Description::span_of(ZoneId zone) const {
    std::vector<bool> seen_zone(zones_.size()), seen_area(areas_.size());
    std::vector<ZoneId> zones{zone};
    std::vector<AreaId> areas;
    std::vector<MachineId> span;
    while (!zones.empty()) {
        const ZoneId at = zones.back();
        zones.pop_back();
        if (seen_zone.at(at.value))
            continue;
        seen_zone[at.value] = true;
        const Zone &here = zones_[at.value];
        zones.insert(zones.end(), here.zones.begin(), here.zones.end());
        areas.insert(areas.end(), here.areas.begin(), here.areas.end());
        span.insert(span.end(), here.machines.begin(), here.machines.end());
    }
    while (!areas.empty()) {
        const AreaId at = areas.back();
        areas.pop_back();
        if (seen_area[at.value])
            continue;
        seen_area[at.value] = true;
        const auto &inner = inner_areas_[at.value];
        areas.insert(areas.end(), inner.begin(), inner.end());
        span.insert(span.end(), machines_in_[at.value].begin(), machines_in_[at.value].end());
    }
    std::sort(span.begin(), span.end());
    span.erase(std::unique(span.begin(), span.end()), span.end());
    return span;
}

void Description::ask(std::string_view stop_name, std::string_view machine_or_load, Asked wanted) {
    (void)stop(stop_name);
    if (!is_load(machine_or_load))
        (void)machine(machine_or_load);
    const auto [entry, fresh] = asked_index_.try_emplace(cell_key(stop_name, machine_or_load), asked_.size());
    if (fresh)
        asked_.push_back({std::string(stop_name), std::string(machine_or_load), wanted});
    else
        asked_[entry->second].asked = wanted;
}

std::vector<AskedCell> Description::asked() const {
    std::vector<AskedCell> cells;
    // Machines first, kept loads behind them; the pair as one number keeps a large matrix cheap.
    std::unordered_map<std::uint64_t, std::size_t> place;
    const auto set = [&](StopId stop_id, std::size_t column, const std::string &column_name, Asked wanted,
                         Target target = Target::no_fault) {
        const std::uint64_t key = std::uint64_t{stop_id.value} << 32 | column;
        const auto [entry, fresh] = place.try_emplace(key, cells.size());
        if (fresh)
            cells.push_back({stops_[stop_id.value].name, column_name, wanted, target});
        else
            cells[entry->second].asked = wanted;
        cells[entry->second].target = std::max(cells[entry->second].target, target);
    };
    for (std::uint32_t i = 0; i < zones_.size(); ++i) {
        const std::vector<MachineId> span = span_of({i});
        for (const StopId device : zones_[i].devices)
            for (const MachineId each : span)
                set(device, each.value, machines_[each.value].name, Asked::cut, zones_[i].target);
    }
    for (std::uint32_t i = 0; i < stops_.size(); ++i)
        if (const auto on = stops_[i].machine)
            set({i}, on->value, machines_[on->value].name, Asked::cut);
    for (std::uint32_t i = 0; i < stops_.size(); ++i)
        for (std::size_t j = 0; j < loads_.size(); ++j)
            set({i}, machines_.size() + j, loads_[j].name, Asked::keep);
    for (const AskedCell &cell : asked_) {
        const std::size_t column =
            is_load(cell.machine) ? machines_.size() + load(cell.machine).value : machine(cell.machine).value;
        set(stop(cell.stop), column, cell.machine, cell.asked);
    }
    return cells;
}

bool operator==(const Description &a, const Description &b) {
    return a.name == b.name && a.north_deg_ == b.north_deg_ && a.title_block == b.title_block &&
           a.supplies_ == b.supplies_ && a.boards_ == b.boards_ && a.areas_ == b.areas_ && a.machines_ == b.machines_ &&
           a.loads_ == b.loads_ && a.stops_ == b.stops_ && a.zones_ == b.zones_ && a.asked_ == b.asked_ &&
           a.waivers_ == b.waivers_ && a.records_ == b.records_ && a.exclusions_ == b.exclusions_ &&
           a.limits_ == b.limits_;
}

} // namespace stopspan
