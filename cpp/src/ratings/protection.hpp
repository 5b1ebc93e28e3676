#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan::ratings {

/// Ratings of gG fuses the tables have, A.
std::vector<double> fuse_sizes_a();
/// And of control circuits, with the small ones of cartridge fuses; common practice.
std::vector<double> control_fuse_sizes_a();
/// Current a gG fuse carries for this long at the least: between its gates at 10 s and 0.1 s in a straight line of the
/// logarithms; beyond 10 s at the gate of 10 s times (10/t)^0.1, not below its rating (assumed).
/// @returns nothing for a rating the table does not have
std::optional<double> fuse_carries_a(double rating_a, double seconds);
/// Longest time a gG fuse takes to clear this current: between its gates at 5 s and 0.1 s in the same way; above the
/// latter 0.1 s. Nothing below the gate at 5 s, or for an unknown rating.
std::optional<double> fuse_clears_s(double rating_a, double current_a);
/// Current that clears a gG fuse within this time (0.1 to 5 s), A.
std::optional<double> fuse_clearing_current_a(double rating_a, double seconds);

/// The handbook's gG fuse for a motor of this current: started direct at up to 6 times it for up to 5 s, or star-delta
/// at up to twice for up to 15 s. Nothing where it has none, or the start is heavier.
std::optional<double> handbook_fuse_a(double motor_current_a, bool star_delta, double start_ratio, double start_s);

/// Ratings of circuit-breakers, A.
std::vector<double> breaker_sizes_a();
inline bool is_breaker(std::string_view type) {
    return type == "B" || type == "C" || type == "D";
}
/// Of fuses or circuit-breakers of this type.
inline std::vector<double> protection_sizes_a(std::string_view type) {
    return is_breaker(type) ? breaker_sizes_a() : fuse_sizes_a();
}
/// Multiple of its rating from which a breaker of type "B", "C" or "D" surely opens at once (within 0.1 s), and up to
/// which it surely does not. Nothing for another type.
std::optional<double> breaker_releases_at(std::string_view type);
std::optional<double> breaker_holds_to(std::string_view type);
/// Whether a breaker carries a motor's start: its peak, sqrt2 times a rms current, lies within what the instantaneous
/// release surely holds (assumed: the band is of rms current, and peaks of the first half-wave count), and by the
/// thermal release at 2.55 times its rating it would trip in 1 s at the earliest, going with 1/I^2.
bool breaker_carries(double rating_a, std::string_view type, double start_a, double seconds);

/// Current an aM fuse carries for this long at the least: between its gates 4 In for 60 s, 8 In for 0.5 s and 10 In for
/// 0.2 s. IEC 60269-1 (from memory).
double am_carries_a(double rating_a, double seconds);

/// Longest time a protective device ("gG", "aM", "B", "C", "D") takes to clear a current; nothing where that is not
/// sure within 5 s. aM: 0.5 s from 12.5 In, 0.1 s from 19 In (from memory). A breaker: 0.1 s from its band on.
std::optional<double> clears_s(std::string_view type, double rating_a, double current_a);
/// Highest energy it lets through, A2s. A fuse: that of its gate at 0.1 s for any larger current; a breaker: that of
/// one half-wave, 0.01 s (assumed). Nothing as clears_s().
std::optional<double> energy_a2s(std::string_view type, double rating_a, double current_a);

} // namespace stopspan::ratings
