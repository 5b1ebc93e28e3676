#include "base/number_text.hpp"
#include "rules/find.hpp"
#include "stopspan/rules.hpp"

#include <array>
#include <cmath>

namespace stopspan {

std::span<const LimitInfo> limits() {
    static constexpr std::string_view operating = "IEC 60947-4-1:2018 8.2.1.2";
    static constexpr std::string_view no_figure = "common practice (assumption: no standard has a figure)";
    static constexpr std::array<LimitInfo, 11> table{{
        {"coil_volts_lowest_percent", "coil-volts", "from which a coil pulls in for certain", 85, 1, 100, operating},
        {"coil_volts_highest_percent", "coil-volts", "up to which a coil may be fed", 110, 100, 200, operating},
        {"coil_volts_left_ac_percent", "coil-volts", "below which a coil for alternating current drops out", 20, 0.1,
         100, operating},
        {"coil_volts_left_dc_percent", "coil-volts", "below which a coil for direct current drops out", 10, 0.1, 100,
         operating},
        {"coil_volts_out_percent", "coil-volts", "below which a coil that is out stays out", 60, 0.1, 100, no_figure},
        {"machine_walk_longest_m", "stop-reach", "from where a machine's operator stands to a stop that cuts it", 10,
         0.5, 1000, no_figure},
        {"exit_walk_longest_m", "stop-reach", "from an exit to a stop that cuts a machine of its area", 5, 0.5, 1000,
         no_figure},
        {"stop_height_lowest_m", "stop-reach", "of the actuator of a stop device worked by hand, above the floor", 0.6,
         0, 10, "ISO 13850:2015 4.3.2; IEC 60204-1:2016 10.1.2"},
        {"stop_height_highest_m", "stop-reach", "of the actuator of a stop device worked by hand, above the floor", 1.7,
         0, 10, "ISO 13850:2015 4.3.2 (of emergency stops; of other stops common practice)"},
        {"passage_narrowest_m", "stop-reach", "gap that people walk through", 0.6, 0.01, 2,
         "common practice (from memory: the least clear width of walkways in ISO 14122-2)"},
        {"run_down_longest_s", "stop-time", "from a stop until the machine stands", 10, 0.1, 3600,
         "HSE information sheet WIS 38 (woodworking)"},
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
