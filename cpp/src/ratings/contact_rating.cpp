#include "ratings/contact_rating.hpp"

#include "ratings/control_tables.hpp"

#include <algorithm>

namespace stopspan::ratings {

bool is_direct_current(std::string_view code) {
    return std::ranges::any_of(contact_ratings,
                               [&](const ContactRatingRow &row) { return row.code == code && row.direct_current; });
}

std::optional<ContactRating> contact_rating(std::string_view code, double voltage_v) {
    // Rows of a code go up in voltage; each holds its volt-amperes down to the voltage of the row before.
    for (const ContactRatingRow &row : contact_ratings) {
        if (row.code != code || row.voltage_v < voltage_v)
            continue;
        const bool lowest = std::ranges::find(contact_ratings, code, &ContactRatingRow::code) == &row;
        const double more = lowest ? 1 : row.voltage_v / voltage_v;
        return ContactRating{row.make_a * more, row.break_a * more, row.thermal_a};
    }
    return std::nullopt;
}

std::optional<std::string_view> weakest_code(bool direct_current, double voltage_v, double make_a, double break_a) {
    for (auto row = contact_ratings.rbegin(); row != contact_ratings.rend(); ++row) {
        if (row->direct_current != direct_current)
            continue;
        const auto rating = contact_rating(row->code, voltage_v);
        if (rating && rating->make_a >= make_a && rating->break_a >= break_a && rating->thermal_a >= break_a)
            return row->code;
    }
    return std::nullopt;
}

} // namespace stopspan::ratings
