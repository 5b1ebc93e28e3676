#include "installation/limits.hpp"

#include "base/names.hpp"
#include "base/number_text.hpp"

#include <cmath>

namespace stopspan {
namespace {

constexpr std::size_t longest_name_bytes = 100;
constexpr double farthest_m = 100'000;

// A message stays readable text whatever it quotes.
std::string quoted(std::string_view text) {
    return text.size() <= longest_name_bytes && is_plain_text(text) ? "'" + std::string(text) + "'"
                                                                    : "(too long, or not UTF-8 text)";
}

} // namespace

void check_number(const std::string &object, std::string_view field, double value, double minimum, double maximum) {
    const std::string range = "; give a number from " + format_fixed(minimum, 6) + " to " + format_fixed(maximum, 6);
    if (!std::isfinite(value))
        throw Error(ErrorCode::bad_value, object + ": " + std::string(field) + " is not a finite number" + range);
    if (value < minimum || value > maximum)
        throw Error(ErrorCode::bad_value, object + ": " + std::string(field) + " is " + format_number(value) + range);
}

void check_position(const std::string &object, Position at) {
    check_number(object, "x_m", at.x_m, -farthest_m, farthest_m);
    check_number(object, "y_m", at.y_m, -farthest_m, farthest_m);
}

void check_name(std::string_view what, std::string_view name) {
    if (!is_name(name) || name.size() > longest_name_bytes)
        throw Error(ErrorCode::bad_value, std::string(what) + " " + quoted(name) +
                                              ": a name is 1 to 100 bytes of printable text without a blank at its "
                                              "ends");
}

void check_designation(const std::string &object, std::string_view field, std::string_view designation) {
    if (!is_designation(designation) || designation.size() > longest_name_bytes)
        throw Error(ErrorCode::bad_value,
                    object + ": " + std::string(field) + " " + quoted(designation) +
                        " is no designation; use letters, digits and . _ - + = / only, 1 to 100 bytes");
}

std::string describe(Position at) {
    return format_fixed(at.x_m, 3) + ", " + format_fixed(at.y_m, 3) + " m";
}

} // namespace stopspan
