#include "base/dates.hpp"
#include "base/names.hpp"
#include "stopspan/description.hpp"
#include "stopspan/error.hpp"
#include "stopspan/rules.hpp"

#include <algorithm>
#include <set>

namespace stopspan {

void Description::set_north(std::optional<double> degrees) {
    if (degrees && !(*degrees >= -360 && *degrees <= 360))
        throw Error(ErrorCode::bad_value, "installation " + name +
                                              ": its north_deg is not between -360 and 360; give degrees clockwise "
                                              "from the y axis of the plans");
    north_deg_ = degrees;
}

void Description::waive(Waiver waiver) {
    check_waiver(waiver);
    const std::set<std::string> subjects(waiver.subjects.begin(), waiver.subjects.end());
    if (std::any_of(waivers_.begin(), waivers_.end(), [&](const Waiver &other) {
            return other.rule == waiver.rule && other.says == waiver.says && other.subjects.size() == subjects.size() &&
                   std::all_of(other.subjects.begin(), other.subjects.end(),
                               [&](const std::string &each) { return subjects.contains(each); });
        }))
        throw Error(ErrorCode::duplicate_name,
                    "waiver of " + waiver.rule +
                        ": there is one for the same subjects and words already; leave one away");
    waivers_.push_back(std::move(waiver));
}

void Description::record(TestRecord record) {
    const std::string object = "trial of " + (record.test.empty() ? "a rule" : record.test) +
                               (record.device.empty() ? "" : ", " + record.device) +
                               (record.machine.empty() ? "" : ", " + record.machine);
    const auto refuse = [&](ErrorCode code, const std::string &why) { throw Error(code, object + ": " + why); };
    try {
        (void)rule_info(record.test);
    } catch (const Error &error) {
        refuse(error.code(), error.what());
    }
    if (record.device.empty() && record.machine.empty())
        refuse(ErrorCode::missing_value, "it names neither a device nor a machine; give what was tried");
    if (record.name.empty())
        refuse(ErrorCode::missing_value, "it has no name; give who tried it");
    for (const std::string *text : {&record.device, &record.machine, &record.name})
        if (!text->empty() && !is_name(*text))
            refuse(ErrorCode::bad_value, "its texts must be printable, on one line without a blank at their ends");
    if (record.date.empty())
        refuse(ErrorCode::missing_value, "it has no date; write the day as 2026-11-26");
    if (!is_date(record.date))
        refuse(ErrorCode::bad_value, "its date is no date; write it as 2026-11-26");
    if (record.run_down_s && !(*record.run_down_s >= 0 && *record.run_down_s <= 1e5))
        refuse(ErrorCode::bad_value, "its run_down_s is not between 0 and 100000; give seconds");
    const std::string key = record.test + '\n' + record.device + '\n' + record.machine + '\n' + record.date;
    if (!record_index_.insert(key).second)
        refuse(ErrorCode::duplicate_name, "it is recorded for " + record.date + " already; leave one away");
    records_.push_back(std::move(record));
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
