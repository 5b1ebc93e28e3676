#include "lists/locations.hpp"

#include "installation/cable_way.hpp"

#include "circuit/kinds.hpp"

#include <cmath>
#include <map>
#include <set>

namespace stopspan {
namespace {

class Locating {
public:
    Locating(const Description &description, const Wired &wired) : description_(description), wired_(wired) {}

    Locations locate() {
        add_enclosures();
        const std::vector<std::string> places = with_recorded();
        for (std::size_t i = 0; i < places.size(); ++i)
            found_.of_device.push_back(of(wired_.circuit.devices()[i], places[i]));
        find_isolators();
        return std::move(found_);
    }

private:
    std::string floor_of(AreaId area) const {
        for (std::optional<AreaId> at = area; at; at = description_[*at].within)
            if (!description_[*at].floor.empty())
                return description_[*at].floor;
        return "";
    }
    // A plan of one floor needs no name for it.
    void put_on_plan(Location &location, std::optional<AreaId> area, std::optional<Position> at) const {
        if (!area || !at)
            return;
        location.at = at;
        location.area = description_[*area].name;
        location.floor = floor_of(*area);
    }

    std::uint32_t enclosure(const std::string &place, Location location) {
        if (location.kind == Location::Kind::outside)
            location.kind = Location::Kind::enclosure;
        const auto index = static_cast<std::uint32_t>(found_.all.size());
        found_.all.push_back(std::move(location));
        by_place_.emplace(place, index);
        return index;
    }

    void add_enclosures() {
        for (const Supply &supply : description_.supplies())
            enclosure("supply " + supply.name, {.name = supply.name, .letter_stem = supply.name});
        for (const Board &board : description_.boards()) {
            Location location{.name = board.name,
                              .kind = Location::Kind::board,
                              .letter_stem = board.name,
                              .isolator = board.isolator};
            put_on_plan(location, board.area, board.at);
            location.hangs_on = board.fed_from ? by_place_.at("board " + description_[*board.fed_from].name)
                                               : by_place_.at("supply " + description_[*board.supply].name);
            enclosure("board " + board.name, std::move(location));
        }
        const auto board_place = [&](std::optional<BoardId> board) -> std::optional<std::uint32_t> {
            if (!board)
                return std::nullopt;
            return by_place_.at("board " + description_[*board].name);
        };
        for (std::uint32_t i = 0; i < description_.areas().size(); ++i) {
            const Area &area = description_.areas()[i];
            if (area.isolator.empty())
                continue;
            Location location{
                .name = "isolator of " + area.name, .letter_stem = area.isolator, .isolator = area.isolator};
            put_on_plan(location, AreaId{i}, area.isolator_at);
            location.hangs_on = above(area.within);
            if (!location.hangs_on)
                location.hangs_on = board_place(description_.board_of(AreaId{i}));
            enclosure("area " + area.name, std::move(location));
        }
        for (const Machine &machine : description_.machines()) {
            const std::string &motor = machine.motors.empty() ? machine.name : machine.motors.front().name;
            Location location{.name = machine.name,
                              .letter_stem = motor.substr(motor.find_first_of("0123456789") == std::string::npos
                                                              ? 0
                                                              : motor.find_first_of("0123456789")),
                              .isolator = machine.isolator};
            put_on_plan(location, machine.area, machine.at);
            location.hangs_on = above(machine.area);
            if (!location.hangs_on || machine.board)
                location.hangs_on = board_place(description_.board_of(machine));
            enclosure("machine " + machine.name, std::move(location));
        }
    }

    // What was recorded of a machine as found has no place of its own: it stands at the one machine to whose motors
    // alone it leads, by nets on which nothing else stands that has a place.
    std::vector<std::string> with_recorded() const {
        std::vector<std::string> places = wired_.places;
        const auto devices = wired_.circuit.devices();
        std::vector<bool> shared(wired_.circuit.nets().size());
        std::vector<std::vector<std::size_t>> on(wired_.circuit.nets().size());
        for (std::size_t i = 0; i < devices.size(); ++i)
            for (const Device::Terminal &terminal : devices[i].terminals)
                if (is_source(devices[i].kind) ||
                    (!places[i].empty() && !is_motor(devices[i].kind) && !is_actuator(devices[i].kind)))
                    shared[terminal.net.value] = true;
                else if (places[i].empty() || is_motor(devices[i].kind))
                    on[terminal.net.value].push_back(i);
        std::vector<bool> seen(devices.size());
        for (std::size_t first = 0; first < devices.size(); ++first) {
            if (seen[first] || !places[first].empty())
                continue;
            std::vector<std::size_t> joined{first};
            std::set<std::string> machines;
            seen[first] = true;
            for (std::size_t next = 0; next < joined.size(); ++next) {
                const std::size_t here = joined[next];
                if (!places[here].empty()) {
                    machines.insert(places[here]); // a motor: its windings lead no further
                    continue;
                }
                for (const Device::Terminal &terminal : devices[here].terminals)
                    for (const std::size_t other : on[terminal.net.value])
                        if (!shared[terminal.net.value] && !seen[other]) {
                            seen[other] = true;
                            joined.push_back(other);
                        }
            }
            for (const std::size_t each : joined)
                if (machines.size() == 1)
                    places[each] = *machines.begin();
        }
        return places;
    }

    // The nearest isolator of an area and what it lies in.
    std::optional<std::uint32_t> above(std::optional<AreaId> area) const {
        for (; area; area = description_[*area].within)
            if (const auto found = by_place_.find("area " + description_[*area].name); found != by_place_.end())
                return found->second;
        return std::nullopt;
    }

    std::uint32_t outside(Location location) {
        const auto [entry, fresh] = outside_.try_emplace(location.name, static_cast<std::uint32_t>(found_.all.size()));
        if (fresh)
            found_.all.push_back(std::move(location));
        return entry->second;
    }
    std::uint32_t outside(const std::string &name, AreaId area, std::optional<Position> at) {
        Location location{.name = name};
        put_on_plan(location, area, at);
        return outside(std::move(location));
    }
    std::uint32_t beside(std::uint32_t enclosure, std::string name) {
        Location location = found_.all[enclosure];
        return outside({.name = std::move(name),
                        .at = location.at,
                        .area = location.area,
                        .floor = location.floor,
                        .hangs_on = enclosure});
    }

    std::uint32_t of(const Device &device, const std::string &place) {
        if (device.kind == DeviceKind::cable)
            return Locations::none;
        const auto stop = stops_.find(device.designation);
        if (stop != stops_.end()) {
            const StopDevice &stands = description_.stops()[stop->second];
            return outside(device.designation, stands.area, description_.place_of(stands));
        }
        if (description_.is_load(device.designation)) {
            const KeptLoad &load = description_[description_.load(device.designation)];
            return outside(load.name, load.area, load.at);
        }
        const auto known = by_place_.find(place);
        const std::uint32_t home = known != by_place_.end() ? known->second : not_stated();
        if (is_actuator(device.kind) && known == by_place_.end())
            return outside({.name = device.designation});
        if (is_actuator(device.kind) && place.starts_with("machine "))
            return beside(home, "operator station of " + found_.all[home].name);
        if (is_motor(device.kind) || device.kind == DeviceKind::load || device.kind == DeviceKind::lamp)
            return beside(home, device.designation);
        return home;
    }

    std::uint32_t not_stated() {
        if (const auto known = by_place_.find(""); known != by_place_.end())
            return known->second;
        return enclosure("", {.name = description_.machines().empty() ? "panel" : "not stated"});
    }

    // One that the description does not name: the only one in the enclosure.
    void find_isolators() {
        std::map<std::uint32_t, std::vector<std::size_t>> in;
        for (std::size_t i = 0; i < found_.of_device.size(); ++i)
            if (wired_.circuit.devices()[i].kind == DeviceKind::isolator && found_.of_device[i] != Locations::none)
                in[found_.of_device[i]].push_back(i);
        for (const auto &[location, isolators] : in)
            if (found_.all[location].isolator.empty() && isolators.size() == 1)
                found_.all[location].isolator = wired_.circuit.devices()[isolators.front()].designation;
    }

    std::map<std::string, std::size_t, std::less<>> stop_index() const {
        std::map<std::string, std::size_t, std::less<>> index;
        for (std::size_t i = 0; i < description_.stops().size(); ++i)
            index.emplace(description_.stops()[i].name, i);
        return index;
    }

    const Description &description_;
    const Wired &wired_;
    const std::map<std::string, std::size_t, std::less<>> stops_ = stop_index();
    Locations found_;
    std::map<std::string, std::uint32_t> by_place_; ///< place of the wiring -> enclosure
    std::map<std::string, std::uint32_t> outside_;
};

} // namespace

Locations locate(const Description &description, const Wired &wired) {
    return Locating(description, wired).locate();
}

std::optional<double> cable_way_m(const Location &from, const Location &to) {
    if (!from.at || !to.at || from.floor != to.floor)
        return std::nullopt;
    return cable_way_m(*from.at, *to.at);
}

} // namespace stopspan
