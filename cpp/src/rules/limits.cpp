#include "base/number_text.hpp"
#include "rules/find.hpp"
#include "stopspan/rules.hpp"

#include <array>
#include <cmath>

namespace stopspan {

std::span<const LimitInfo> limits() {
    static constexpr std::string_view operating = "IEC 60947-4-1:2018 8.2.1.2";
    static constexpr std::array<LimitInfo, 5> table{{
        {"coil_volts_lowest_percent", "coil-volts", "from which a coil pulls in for certain", 85, 1, 100, operating},
        {"coil_volts_highest_percent", "coil-volts", "up to which a coil may be fed", 110, 100, 200, operating},
        {"coil_volts_left_ac_percent", "coil-volts", "below which a coil for alternating current drops out", 20, 0.1,
         100, operating},
        {"coil_volts_left_dc_percent", "coil-volts", "below which a coil for direct current drops out", 10, 0.1, 100,
         operating},
        {"coil_volts_out_percent", "coil-volts", "below which a coil that is out stays out", 60, 0.1, 100,
         "common practice (assumption: no standard has a figure)"},
    }};
    return table;
}

const LimitInfo &limit_info(std::string_view name) {
    return find_entry(limits(), &LimitInfo::name, name, "limit");
}

void check_limit(std::string_view name, double value) {
    const LimitInfo &info = limit_info(name);
    if (!std::isfinite(value) || value < info.minimum || value > info.maximum)
        throw Error(ErrorCode::bad_value, "limit " + std::string(name) + " is " +
                                              (std::isfinite(value) ? format_number(value) : "no finite number") +
                                              "; allowed is " + format_number(info.minimum) + " to " +
                                              format_number(info.maximum));
}

} // namespace stopspan
