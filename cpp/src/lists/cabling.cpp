#include "lists/cabling.hpp"

#include "circuit/kinds.hpp"

#include <algorithm>
#include <deque>
#include <map>
#include <set>
#include <tuple>

namespace stopspan {
namespace {

constexpr std::uint32_t nowhere = Locations::none;

// Ends of a net in one location.
struct Ends {
    std::uint32_t location;
    std::vector<std::string> terminals;
};

class Joining {
public:
    Joining(const Circuit &circuit, const Locations &locations, const std::vector<ConductorUse> &uses)
        : circuit_(circuit), locations_(locations), uses_(uses), ends_(circuit.nets().size()),
          home_(circuit.nets().size(), nowhere) {}

    Cabling join() {
        find_ends();
        find_homes();
        choose_enclosures();
        for (std::uint32_t net = 0; net < ends_.size(); ++net)
            plan(NetId{net});
        number_cables();
        place_terminals();
        add_wires();
        add_recorded_cables();
        return std::move(out_);
    }

private:
    bool enclosure(std::uint32_t location) const { return locations_.all[location].encloses(); }

    void find_ends() {
        for (std::size_t i = 0; i < circuit_.devices().size(); ++i) {
            const Device &device = circuit_.devices()[i];
            if (const std::uint32_t here = locations_.of_device[i]; here != nowhere)
                for (const Device::Terminal &terminal : device.terminals)
                    ends_[terminal.net.value].push_back({here, {device.designation + ":" + terminal.name}});
        }
        for (std::vector<Ends> &at : ends_) {
            std::ranges::stable_sort(at, {}, &Ends::location);
            std::vector<Ends> merged;
            for (Ends &end : at)
                if (merged.empty() || merged.back().location != end.location)
                    merged.push_back(std::move(end));
                else
                    merged.back().terminals.push_back(std::move(end.terminals.front()));
            at = std::move(merged);
        }
    }

    // A net between devices outside, as in a chain of stops, comes to the enclosure its circuit belongs to: the nearest
    // one along the contacts.
    void find_homes() {
        std::vector<std::vector<NetId>> next(ends_.size());
        for (const Device &device : circuit_.devices())
            for (const Contact &contact : contacts_of(device)) {
                const NetId a = *device.net_of(contact.first), b = *device.net_of(contact.second);
                next[a.value].push_back(b);
                next[b.value].push_back(a);
            }
        std::deque<NetId> queue;
        for (std::uint32_t net = 0; net < ends_.size(); ++net) {
            const auto inside =
                std::ranges::find_if(ends_[net], [&](const Ends &at) { return enclosure(at.location); });
            if (inside == ends_[net].end())
                continue;
            home_[net] = inside->location;
            queue.push_back({net});
        }
        while (!queue.empty()) {
            const NetId here = queue.front();
            queue.pop_front();
            for (const NetId to : next[here.value])
                if (home_[to.value] == nowhere) {
                    home_[to.value] = home_[here.value];
                    queue.push_back(to);
                }
        }
    }

    // What stands outside goes to the enclosure of its machine, else to the one most of its nets are in.
    void choose_enclosures() {
        chosen_.assign(locations_.all.size(), nowhere);
        std::vector<std::map<std::uint32_t, std::size_t>> votes(locations_.all.size());
        for (std::uint32_t net = 0; net < ends_.size(); ++net) {
            const std::vector<std::uint32_t> enclosures = enclosures_of({net});
            for (const Ends &at : ends_[net])
                if (!enclosure(at.location) && enclosures.size() == 1)
                    ++votes[at.location][enclosures.front()];
                else if (!enclosure(at.location))
                    for (const std::uint32_t each : enclosures)
                        votes[at.location].try_emplace(each, 0);
        }
        for (std::uint32_t i = 0; i < votes.size(); ++i) {
            if (!enclosure(i) && locations_.all[i].hangs_on) {
                chosen_[i] = *locations_.all[i].hangs_on;
                continue;
            }
            for (const auto &[enclosure, count] : votes[i])
                if (chosen_[i] == nowhere || count > votes[i].at(chosen_[i]))
                    chosen_[i] = enclosure;
        }
    }

    std::vector<std::uint32_t> enclosures_of(NetId net) const {
        std::vector<std::uint32_t> found;
        for (const Ends &at : ends_[net.value])
            if (enclosure(at.location))
                found.push_back(at.location);
        if (found.empty() && home_[net.value] != nowhere)
            found.push_back(home_[net.value]);
        return found;
    }

    // Cores of one net: from outside to an enclosure, and between enclosures along the feeds.
    void plan(NetId net) {
        const std::vector<Ends> &at = ends_[net.value];
        if (at.size() < 2)
            return;
        const std::vector<std::uint32_t> enclosures = enclosures_of(net);
        if (enclosures.empty()) { // nothing says where: from one to the next
            for (std::size_t i = 1; i < at.size(); ++i)
                core(at[i - 1].location, at[i].location, net);
            return;
        }
        std::set<std::uint32_t> joined(enclosures.begin(), enclosures.end());
        for (const Ends &end : at) {
            if (enclosure(end.location))
                continue;
            const std::uint32_t to = enclosures.size() > 1 || locations_.all[end.location].hangs_on
                                         ? chosen_[end.location]
                                         : enclosures.front();
            core(to, end.location, net);
            joined.insert(to);
        }
        join_enclosures(joined, net);
    }

    void join_enclosures(const std::set<std::uint32_t> &on_net, NetId net) {
        const auto feeds = [&](std::uint32_t location) {
            std::vector<std::uint32_t> up{location};
            while (const auto from = locations_.all[up.back()].hangs_on)
                up.push_back(*from);
            return up;
        };
        std::set<std::pair<std::uint32_t, std::uint32_t>> links;
        std::vector<std::uint32_t> tops;
        for (const std::uint32_t each : on_net) {
            const std::vector<std::uint32_t> up = feeds(each);
            const auto last =
                std::find_if(up.begin() + 1, up.end(), [&](std::uint32_t i) { return on_net.contains(i); });
            if (last == up.end()) {
                tops.push_back(each);
                continue;
            }
            for (auto step = up.begin(); step != last; ++step)
                links.emplace(*(step + 1), *step);
        }
        for (std::size_t i = 1; i < tops.size(); ++i) { // by way of what feeds both, else straight
            const std::vector<std::uint32_t> a = feeds(tops.front()), b = feeds(tops[i]);
            const auto common =
                std::ranges::find_if(a, [&](std::uint32_t each) { return std::ranges::count(b, each); });
            if (common == a.end()) {
                links.emplace(tops.front(), tops[i]);
                continue;
            }
            for (const auto &up : {a, b})
                for (auto step = up.begin(); *step != *common; ++step)
                    links.emplace(*(step + 1), *step);
        }
        for (const auto &[from, to] : links)
            core(from, to, net);
    }

    void core(std::uint32_t from, std::uint32_t to, NetId net) {
        const ConductorUse use = uses_[net.value];
        const bool power = use == ConductorUse::power || use == ConductorUse::neutral;
        cores_[{from, to, !enclosure(to) || power}].push_back(net); // one cable to each thing outside
    }

    void number_cables() {
        for (auto &[key, nets] : cores_) {
            const auto &[from, to, power] = key;
            const bool carries_power =
                std::ranges::any_of(nets, [&](NetId net) { return uses_[net.value] == ConductorUse::power; });
            out_.cables.push_back({free("W"), from, to, power && carries_power, {}, {}});
            for (const NetId net : nets)
                out_.cables.back().cores.push_back({net, "", ""});
        }
    }

    // The next number of a letter that no device has.
    std::string free(const std::string &letter) {
        for (;;) {
            std::string wanted = letter + std::to_string(++numbers_[letter]);
            if (!circuit_.find(wanted))
                return wanted;
        }
    }

    std::string strip_of(std::uint32_t location) {
        const auto [entry, fresh] = strips_.try_emplace(location);
        if (fresh) {
            const std::string wanted = "X" + locations_.all[location].letter_stem;
            std::string name = wanted;
            for (int i = 2; circuit_.find(name) || !taken_.insert(name).second; ++i)
                name = wanted + "_" + std::to_string(i);
            entry->second = name;
        }
        return entry->second;
    }

    void place_terminals() {
        std::map<std::uint32_t, std::vector<StripTerminal>> strips;
        for (std::size_t c = 0; c < out_.cables.size(); ++c) {
            const Cable &cable = out_.cables[c];
            for (const std::uint32_t end : {cable.from, cable.to})
                for (std::size_t i = 0; i < cable.cores.size(); ++i)
                    if (enclosure(end))
                        strips[end].push_back({end, "", cable.cores[i].net, "", false, c, i + 1});
        }
        for (auto &[location, strip] : strips) {
            // Those of one net side by side, where the first of them stands.
            std::map<NetId, std::size_t> first;
            for (std::size_t i = 0; i < strip.size(); ++i)
                first.try_emplace(strip[i].net, i);
            std::ranges::stable_sort(strip, {}, [&](const StripTerminal &each) { return first.at(each.net); });
            for (std::size_t i = 0; i < strip.size(); ++i) {
                StripTerminal &terminal = strip[i];
                terminal.name = strip_of(location) + ":" + std::to_string(i + 1);
                terminal.bridged = i > 0 && strip[i - 1].net == terminal.net;
                terminal.inside = terminal.bridged ? strip[i - 1].name : last_end(terminal.net, location);
                CableCore &core = out_.cables[terminal.cable].cores[terminal.core - 1];
                (out_.cables[terminal.cable].from == location ? core.from : core.to) = terminal.name;
                if (!terminal.bridged && !terminal.inside.empty())
                    to_strip_.emplace(std::pair{location, terminal.net}, terminal.name);
            }
            std::ranges::move(strip, std::back_inserter(out_.terminals));
        }
        for (Cable &cable : out_.cables)
            for (CableCore &core : cable.cores) {
                if (core.from.empty())
                    core.from = first_end(core.net, cable.from);
                if (core.to.empty())
                    core.to = first_end(core.net, cable.to);
            }
    }

    const Ends *ends_at(NetId net, std::uint32_t location) const {
        const auto found = std::ranges::lower_bound(ends_[net.value], location, {}, &Ends::location);
        return found == ends_[net.value].end() || found->location != location ? nullptr : &*found;
    }
    std::string first_end(NetId net, std::uint32_t location) const {
        const Ends *ends = ends_at(net, location);
        return ends ? ends->terminals.front() : "";
    }
    std::string last_end(NetId net, std::uint32_t location) const {
        const Ends *ends = ends_at(net, location);
        return ends ? ends->terminals.back() : "";
    }

    // In each location from one terminal of a net to the next, and on to the strip.
    void add_wires() {
        for (std::uint32_t net = 0; net < ends_.size(); ++net)
            for (const Ends &at : ends_[net]) {
                for (std::size_t i = 1; i < at.terminals.size(); ++i)
                    out_.wires.push_back({at.location, {net}, at.terminals[i - 1], at.terminals[i]});
                if (const auto strip = to_strip_.find({at.location, NetId{net}}); strip != to_strip_.end())
                    out_.wires.push_back({at.location, {net}, at.terminals.back(), strip->second});
            }
        std::ranges::stable_sort(out_.wires, {}, &Wire::location);
    }

    void add_recorded_cables() {
        for (std::uint32_t i = 0; i < circuit_.devices().size(); ++i) {
            const Device &device = circuit_.devices()[i];
            if (device.kind != DeviceKind::cable)
                continue;
            Cable cable{device.designation, nowhere, nowhere, false, {}, DeviceId{i}};
            for (const auto &[near, far] : cores_of(device)) {
                const auto any_end = [&](NetId net, std::uint32_t &location) -> std::string {
                    if (ends_[net.value].empty())
                        return "";
                    location = ends_[net.value].front().location;
                    return ends_[net.value].front().terminals.front();
                };
                const std::string from = any_end(near, cable.from), to = any_end(far, cable.to);
                cable.cores.push_back({near, from, to});
                cable.power |= uses_[near.value] == ConductorUse::power;
            }
            out_.cables.push_back(std::move(cable));
        }
    }

    const Circuit &circuit_;
    const Locations &locations_;
    const std::vector<ConductorUse> &uses_;
    std::vector<std::vector<Ends>> ends_; ///< per net
    std::vector<std::uint32_t> home_;     ///< per net: enclosure
    std::vector<std::uint32_t> chosen_;   ///< per location outside: enclosure
    std::map<std::tuple<std::uint32_t, std::uint32_t, bool>, std::vector<NetId>> cores_;
    std::map<std::string, int> numbers_;
    std::map<std::uint32_t, std::string> strips_;
    std::set<std::string> taken_;
    std::map<std::pair<std::uint32_t, NetId>, std::string> to_strip_; ///< where a net leaves its enclosure
    Cabling out_;
};

} // namespace

StripTerminals strip_terminals(const Cabling &cabling, const Locations &locations) {
    StripTerminals found;
    const auto enclosure = [&](std::uint32_t location) {
        return location != nowhere && locations.all[location].encloses();
    };
    for (const Cable &cable : cabling.cables)
        if (!cable.recorded && enclosure(cable.from) && !enclosure(cable.to))
            for (const CableCore &core : cable.cores)
                found.emplace(core.to, core.from);
    std::string inside;
    for (const StripTerminal &terminal : cabling.terminals) {
        if (!terminal.bridged)
            inside = terminal.inside;
        const Cable &cable = cabling.cables[terminal.cable];
        if (!inside.empty() && enclosure(cable.from) && enclosure(cable.to))
            found.emplace(inside, terminal.name);
    }
    return found;
}

Cabling cabling(const Circuit &circuit, const Locations &locations, const std::vector<ConductorUse> &uses) {
    return Joining(circuit, locations, uses).join();
}

} // namespace stopspan
