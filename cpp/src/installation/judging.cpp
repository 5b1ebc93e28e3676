#include "stopspan/description.hpp"
#include "stopspan/error.hpp"
#include "stopspan/rules.hpp"

#include <algorithm>
#include <set>

namespace stopspan {

void Description::waive(Waiver waiver) {
    check_waiver(waiver);
    const std::set<std::string> subjects(waiver.subjects.begin(), waiver.subjects.end());
    if (std::any_of(waivers_.begin(), waivers_.end(), [&](const Waiver &other) {
            return other.rule == waiver.rule && other.subjects.size() == subjects.size() &&
                   std::all_of(other.subjects.begin(), other.subjects.end(),
                               [&](const std::string &each) { return subjects.contains(each); });
        }))
        throw Error(ErrorCode::duplicate_name,
                    "waiver of " + waiver.rule + ": there is one for the same subjects already; leave one away");
    waivers_.push_back(std::move(waiver));
}

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
