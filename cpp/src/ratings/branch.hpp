#pragma once

#include "ratings/ground.hpp"

namespace stopspan::ratings {

/// What a protective device has to let through.
struct ProtectionNeed {
    double running_a, start_a, start_s;
    std::optional<double> handbook_a; ///< of a single motor whose start is no heavier than the handbook's
};
ProtectionNeed need_of(const Ground &ground, const std::vector<Behind> &behind);
/// Why a rating does not do; empty: it does.
std::string why_not(const ProtectionNeed &need, std::string_view type, double rating_a);
/// @param rejected  gets the smaller ones, unless null
std::optional<double> smallest_protection_a(const ProtectionNeed &need, std::string_view type,
                                            std::vector<Rejected> *rejected);

/// The protective device nearest to a motor: the fuse on its way with the fewest motors behind it.
struct Branch {
    std::optional<std::uint32_t> device; ///< none: not in the circuit
    std::string type = "gG";
    double rating_a = 0; ///< as wired, else as it should be; 0: unknown
    bool wired = false;
};
Branch branch_of(const Ground &ground, std::uint32_t path);

} // namespace stopspan::ratings
