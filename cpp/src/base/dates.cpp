#include "base/dates.hpp"

#include <chrono>
#include <utility>

namespace stopspan {

bool is_date(std::string_view text) {
    int parts[3]{};
    std::size_t at = 0;
    for (const auto &[digits, part] : {std::pair{4, 0}, {2, 1}, {2, 2}}) {
        for (int i = 0; i < digits; ++i, ++at) {
            if (at >= text.size() || text[at] < '0' || text[at] > '9')
                return false;
            parts[part] = parts[part] * 10 + (text[at] - '0');
        }
        if (part < 2 && (at >= text.size() || text[at++] != '-'))
            return false;
    }
    using namespace std::chrono;
    return at == text.size() && parts[0] > 0 &&
           year_month_day(year(parts[0]), month(static_cast<unsigned>(parts[1])), day(static_cast<unsigned>(parts[2])))
               .ok();
}

} // namespace stopspan
