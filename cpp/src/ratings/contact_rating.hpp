#pragma once

#include <optional>
#include <string_view>

namespace stopspan::ratings {

/// What a contact may switch: AC-15 or DC-13.
struct ContactRating {
    double make_a, break_a, thermal_a;
};
/// Of a rating code ("A600", "Q300") at a voltage: between the voltages of its rows by constant VA, below the lowest
/// its amperes there, above the highest nothing. IEC 60947-5-1 annex A.
std::optional<ContactRating> contact_rating(std::string_view code, double voltage_v);
bool is_direct_current(std::string_view code);
/// The weakest code that makes and breaks these currents; nothing if none does.
std::optional<std::string_view> weakest_code(bool direct_current, double voltage_v, double make_a, double break_a);

} // namespace stopspan::ratings
