#include "base/number_text.hpp"
#include "lists/tables.hpp"

#include <algorithm>

namespace stopspan {
namespace {

std::vector<std::vector<NetId>> excepted_nets(const Circuit &circuit, const Locations &locations,
                                              const std::vector<ConductorUse> &uses) {
    std::vector<std::vector<NetId>> nets(locations.all.size());
    for (std::size_t i = 0; i < circuit.devices().size(); ++i)
        if (const std::uint32_t here = locations.of_device[i];
            here != Locations::none && !locations.all[here].isolator.empty())
            for (const Device::Terminal &terminal : circuit.devices()[i].terminals)
                nets[here].push_back(terminal.net);
    const LiveBehind live(circuit, uses);
    for (std::size_t here = 0; here < nets.size(); ++here) {
        std::ranges::sort(nets[here]);
        nets[here].erase(std::unique(nets[here].begin(), nets[here].end()), nets[here].end());
        if (const auto isolator = circuit.find(locations.all[here].isolator); isolator && !nets[here].empty())
            nets[here] = live.with_open(circuit.device(*isolator), nets[here]);
        else
            nets[here].clear();
    }
    return nets;
}

} // namespace

Listed::Listed(const Description &asked, const Wired &wired, const Verdict &found)
    : Listed(asked, wired, found, ratings::sizes_and_currents(asked, wired.circuit, {.performance_levels = false})) {}

Listed::Listed(const Description &asked, const Wired &wired, const Verdict &found, ratings::SizesAndCurrents sized)
    : description(asked), circuit(wired.circuit), verdict(found), locations(locate(asked, wired)),
      uses(conductor_uses(wired.circuit)), cabling(stopspan::cabling(wired.circuit, locations, uses)),
      sizes(std::move(sized.sizes)), wire_sizes(locations, uses, std::move(sized.currents)),
      excepted(excepted_nets(wired.circuit, locations, uses)) {
    for (const Size &each : sizes.values)
        size_of_.try_emplace({each.subject, each.quantity}, &each);
}

const Size *Listed::size(std::string_view subject, std::string_view quantity) const {
    const auto found = size_of_.find({subject, quantity});
    return found == size_of_.end() ? nullptr : found->second;
}

std::string Listed::sized(std::string_view subject, std::string_view quantity) const {
    const Size *size = this->size(subject, quantity);
    if (!size)
        return "";
    if (!size->choice.empty())
        return size->choice;
    return format_fixed(size->value, 2) + (size->unit.empty() ? "" : " " + size->unit);
}

std::vector<List> lists(const Description &description, const Wired &wired, const Verdict &verdict) {
    return all_lists(Listed(description, wired, verdict));
}

std::vector<List> all_lists(const Listed &listed) {
    return {wire_list(listed),    terminal_list(listed), cable_list(listed),        part_list(listed),
            setting_list(listed), label_list(listed),    commissioning_list(listed)};
}

} // namespace stopspan
