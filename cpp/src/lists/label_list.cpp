#include "base/words.hpp"
#include "lists/tables.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace stopspan {
namespace {

class Labels {
public:
    explicit Labels(const Listed &listed) : listed_(listed) {}

    List write() {
        stops();
        isolators();
        second_supplies();
        return std::move(list_);
    }

private:
    void stops() {
        std::map<std::string_view, std::pair<std::vector<std::string>, std::vector<std::string>>> reach;
        for (const MatrixCell &cell : listed_.verdict.matrix)
            if (cell.found == Found::cuts)
                reach[cell.stop].first.push_back(cell.machine);
            else if (cell.found == Found::maybe)
                reach[cell.stop].second.push_back(cell.machine);
        std::map<std::string_view, std::string> several_feeds; // the label that a finding asks for
        for (const Finding &finding : listed_.verdict.findings)
            if (finding.rule == "one-origin" && finding.status == Status::note && finding.subjects.size() == 1)
                several_feeds.emplace(finding.subjects[0], finding.text.substr(0, finding.text.rfind("; label it.")));
        for (std::size_t i = 0; i < listed_.circuit.devices().size(); ++i) {
            const Device &device = listed_.circuit.devices()[i];
            if (!is_actuator(device.kind) || role_of(device) != Role::stop)
                continue;
            const auto &[cut, perhaps] = reach[device.designation];
            std::string text = cut.empty() ? "Stops nothing" : "Stops " + stopspan::listed(cut);
            if (!perhaps.empty())
                text += "; perhaps " + stopspan::listed(perhaps);
            add(i, "stop device", std::move(text));
            if (const auto several = several_feeds.find(device.designation); several != several_feeds.end())
                add(i, "stop device, inside", several->second);
        }
    }

    // Machines all of whose lines are dead, and kept loads.
    void isolators() {
        const LiveBehind live(listed_.circuit, listed_.uses);
        std::vector<std::vector<std::uint32_t>> fed(listed_.circuit.nets().size()); // per net: motors, drives and loads
        for (std::uint32_t i = 0; i < listed_.circuit.devices().size(); ++i)
            if (const Device &device = listed_.circuit.devices()[i]; is_fed(device))
                for (const Device::Terminal &terminal : device.terminals)
                    fed[terminal.net.value].push_back(i);
        for (std::size_t i = 0; i < listed_.circuit.devices().size(); ++i) {
            const Device &isolator = listed_.circuit.devices()[i];
            if (isolator.kind != DeviceKind::isolator)
                continue;
            const std::vector<NetId> dead = live.dead_behind(isolator);
            std::vector<std::string> names;
            std::set<std::uint32_t> met;
            for (const NetId net : dead)
                met.insert(fed[net.value].begin(), fed[net.value].end());
            for (const std::uint32_t each : met) {
                const Device &device = listed_.circuit.devices()[each];
                const std::string name(machine_of(device).empty() ? device.designation : machine_of(device));
                if (wholly_dead(device, dead) && !std::ranges::count(names, name))
                    names.push_back(name);
            }
            add(i, "isolator", names.empty() ? "Isolates no machine" : "Isolates " + stopspan::listed(names));
        }
    }

    static bool is_fed(const Device &device) {
        return (!machine_of(device).empty() && !is_actuator(device.kind)) || device.kind == DeviceKind::load;
    }

    bool wholly_dead(const Device &device, const std::vector<NetId> &dead) const {
        return std::ranges::all_of(device.terminals, [&](const Device::Terminal &terminal) {
            return listed_.uses[terminal.net.value] == ConductorUse::neutral ||
                   listed_.uses[terminal.net.value] == ConductorUse::ac_control ||
                   listed_.uses[terminal.net.value] == ConductorUse::dc_control ||
                   std::ranges::binary_search(dead, terminal.net);
        });
    }

    void second_supplies() {
        for (std::uint32_t here = 0; here < listed_.excepted.size(); ++here) {
            if (listed_.excepted[here].empty())
                continue;
            std::vector<std::string> nets;
            for (const NetId net : listed_.excepted[here])
                nets.push_back(listed_.circuit.net_name(net));
            const Location &location = listed_.locations.all[here];
            list_.rows.push_back(
                {location.name, location.area, "enclosure",
                 "Second supply inside: with " + location.isolator + " open, live on " + stopspan::listed(nets)});
        }
    }

    void add(std::size_t device, std::string what, std::string text) {
        const std::uint32_t here = listed_.locations.of_device[device];
        const std::string &area = here == Locations::none ? "" : listed_.locations.all[here].area;
        list_.rows.push_back({listed_.circuit.devices()[device].designation,
                              area.empty() ? listed_.name_of(here) : area, std::move(what), std::move(text)});
    }

    const Listed &listed_;
    List list_{"labels", "Labels", "What stops cut is as found in the circuit.", {"label", "where", "on", "text"}, {}};
};

} // namespace

List label_list(const Listed &listed) {
    return Labels(listed).write();
}

} // namespace stopspan
