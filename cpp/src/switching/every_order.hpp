#pragma once

#include "switching/cone.hpp"

#include <optional>
#include <set>
#include <string>
#include <vector>

namespace stopspan {

/// Armatures of which the order of moving matters, or which never come to rest.
struct OrderSeen {
    bool chatter = false; ///< they never come to rest; else stable ends differ
    bool excused = false; ///< it takes two momentary devices held together, a line lost by itself or a blown fuse
    std::vector<std::uint32_t> armatures; ///< all that move there, of the cone
    std::vector<std::string> acts;        ///< the fewest that lead to it
    State from;                           ///< where it settles from after them
};

struct OrdersSeen {
    std::vector<OrderSeen> seen;
    bool more_races = false, more_chatter = false; ///< than are told
};

/// Tries every order of moving after every act in every reachable state, all at once: sets of states in place of
/// states, so that many armatures that act on one another cost no more than their contacts.
/// Of what takes two hands only the fewest armatures are told: those in which some told ones are contained say nothing
/// new.
/// @returns null where contacts alone do not decide, or the sets become too large
std::optional<OrdersSeen> see_every_order(const Cone &cone);

} // namespace stopspan
