#include "lists/wire_sizes.hpp"

#include "ratings/conductor.hpp"

#include <algorithm>
#include <array>
#include <span>
#include <tuple>

namespace stopspan {

WireSizes::WireSizes(const Locations &locations, const std::vector<ConductorUse> &uses,
                     std::vector<ratings::CurrentAt> currents)
    : uses_(uses), on_ways_(uses.size(), false), most_on_lines_a_(locations.all.size(), 0) {
    std::erase_if(currents, [&](const auto &at) { return at.net >= uses.size(); }); // made up: a star point
    for (const ratings::CurrentAt &at : currents)
        on_ways_[at.net] = true;
    const auto location_of = [&](const ratings::CurrentAt &at) { return locations.of_device[at.device]; };
    const auto place = [&](const ratings::CurrentAt &at) { return std::pair(location_of(at), at.net); };
    std::ranges::stable_sort(currents, {},
                             [&](const auto &at) { return std::tuple(location_of(at), at.net, at.draw, at.device); });
    // Lines that pass one switch side by side, or come from one source, are of one size.
    std::vector<std::array<double, 2>> most_a(locations.of_device.size());
    std::vector<Carried *> group; // per current
    for (std::size_t first = 0, next = 0; first < currents.size(); first = next) {
        bool supplies_only = true;
        for (; next < currents.size() && place(currents[next]) == place(currents[first]); ++next)
            supplies_only &= currents[next].supply;
        const auto here = std::span(currents).subspan(first, next - first);
        const auto sum_a = ratings::carried_together_a(here);
        const auto entry = carried_.emplace_hint(carried_.end(), place(here.front()), Carried{sum_a, supplies_only});
        group.insert(group.end(), here.size(), &entry->second);
        if (uses_[here.front().net] == ConductorUse::power && sum_a)
            for (const ratings::CurrentAt &at : here)
                most_a[at.device][at.feeds] = std::max(most_a[at.device][at.feeds], *sum_a);
    }
    for (std::size_t i = 0; i < currents.size(); ++i) {
        const ratings::CurrentAt &at = currents[i];
        std::optional<double> &current_a = group[i]->current_a;
        if (uses_[at.net] != ConductorUse::power || !current_a)
            continue;
        current_a = std::max(*current_a, most_a[at.device][at.feeds]);
        if (const std::uint32_t here = location_of(at); here != Locations::none)
            most_on_lines_a_[here] = std::max(most_on_lines_a_[here], *current_a);
    }
}

std::optional<double> WireSizes::of(std::uint32_t location, NetId net, std::string_view method) const {
    const ConductorUse use = uses_[net.value];
    const bool control = use != ConductorUse::power && use != ConductorUse::neutral;
    const auto found = carried_.find({location, net.value});
    if (found == carried_.end()) { // nothing but control circuits branches off here; a line nobody draws on is unknown
        if (use != ConductorUse::power)
            return usual_.control_csa_mm2;
        return on_ways_[net.value] ? std::optional(ratings::smallest_power_csa_mm2) : std::nullopt;
    }
    if (!found->second.current_a)
        return control ? std::optional(usual_.control_csa_mm2) : std::nullopt;
    double current_a = *found->second.current_a;
    if (use == ConductorUse::neutral && !found->second.supplies_only && location != Locations::none)
        current_a = most_on_lines_a_[location] > 0 ? most_on_lines_a_[location] : current_a;
    if (control &&
        ratings::machine_ampacity_a(usual_.control_csa_mm2, method, usual_.ambient_c).value_or(0) >= current_a)
        return usual_.control_csa_mm2;
    return ratings::carrying_csa_mm2(current_a, method, usual_.ambient_c);
}

} // namespace stopspan
