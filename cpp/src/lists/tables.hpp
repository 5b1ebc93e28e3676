#pragma once

#include "lists/cabling.hpp"
#include "lists/wire_sizes.hpp"

#include "stopspan/lists.hpp"
#include "stopspan/sizes.hpp"

#include <map>
#include <string_view>
#include <utility>

namespace stopspan {

/// What every list is made from.
class Listed {
public:
    Listed(const Description &asked, const Wired &wired, const Verdict &found);
    Listed(const Listed &) = delete;

    const Description &description;
    const Circuit &circuit;
    const Verdict &verdict;
    Locations locations;
    std::vector<ConductorUse> uses;
    Cabling cabling;
    Sizes sizes;
    WireSizes wire_sizes;
    /// By location: nets there that stay live while its own isolator is open.
    std::vector<std::vector<NetId>> excepted;

    /// As Sizes::find, for many.
    const Size *size(std::string_view subject, std::string_view quantity) const;
    /// What a device should have, in words; empty where it is not sized.
    std::string sized(std::string_view subject, std::string_view quantity) const;
    std::string name_of(std::uint32_t location) const {
        return location == Locations::none ? "not stated" : locations.all[location].name;
    }

private:
    Listed(const Description &asked, const Wired &wired, const Verdict &found, ratings::SizesAndCurrents sized);
    std::map<std::pair<std::string_view, std::string_view>, const Size *> size_of_;
};

/// All lists, in order.
std::vector<List> all_lists(const Listed &listed);
List wire_list(const Listed &listed);
List terminal_list(const Listed &listed);
List cable_list(const Listed &listed);
List part_list(const Listed &listed);
List setting_list(const Listed &listed);
List label_list(const Listed &listed);
List commissioning_list(const Listed &listed);

} // namespace stopspan
