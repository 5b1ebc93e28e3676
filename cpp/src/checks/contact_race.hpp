#pragma once

#include "stopspan/verdict.hpp"
#include "switching/explore.hpp"

#include <map>
#include <optional>
#include <set>
#include <string>
#include <tuple>

namespace stopspan {

/// What one act shows of races. Without a name in it: there may be one, which hangs on what is outside the cone.
struct RaceSeen {
    std::string rule;           ///< "contact-race" or "chatter"
    std::set<std::string> what; ///< designations of what moves
    std::string dwells;         ///< change-over contact whose dwelling matters; empty: the order of moving does
    /// It takes two momentary devices held together, or a line lost by itself or a blown fuse: what motors feed back
    /// there may or may not keep coils in, and every rule judges all that comes of it.
    bool excused = false;
    bool fed_back = false; ///< there may be one once a line is lost or a fuse has blown
    Status status() const;
    std::string subject() const; ///< "K1 K2"
    std::string ends_in() const; ///< for a witness
};

/// What every order of moving shows, found for sets of states at once.
struct OrdersOfMoving {
    struct One {
        RaceSeen race;
        std::vector<std::string> acts;
    };
    std::vector<One> races;
    std::set<std::string> more; ///< rules of which there is more than is told
};
/// @returns null where the cone is small enough to try state by state, or contacts alone do not decide
std::optional<OrdersOfMoving> every_order_of_moving(const Cone &cone);

/// Watches the transitions of one exploration, all of them and in their order.
class RaceWatch {
public:
    explicit RaceWatch(const Exploration &exploration) : exploration_(exploration) {}
    std::vector<RaceSeen> see(const Exploration::Transition &t);
    /// Races can show as soon as power is there.
    std::vector<RaceSeen> see_cold_start() const;

private:
    std::set<std::string> differing(const std::vector<State> &these, const std::vector<State> &those) const;

    const Exploration &exploration_;
    /// Settled::sure of fast moves of change-over contacts, kept until the slow move from the same node is seen.
    std::map<std::tuple<std::uint32_t, std::uint32_t, ActKind>, std::vector<State>> fast_;
};

} // namespace stopspan
