#include "stopspan/description.hpp"
#include "stopspan/error.hpp"
#include "stopspan/rules.hpp"

#include <algorithm>

namespace stopspan {

void Description::exclude_faults(std::string_view exclusion) {
    (void)fault_exclusion(exclusion);
    if (std::find(exclusions_.begin(), exclusions_.end(), exclusion) != exclusions_.end())
        throw Error(ErrorCode::duplicate_name,
                    "fault exclusion " + std::string(exclusion) + " is there already; leave one away");
    exclusions_.emplace_back(exclusion);
}

void Description::set_limit(std::string_view limit, double value) {
    check_limit(limit, value);
    limits_[std::string(limit)] = value;
}

} // namespace stopspan
