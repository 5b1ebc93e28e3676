#pragma once

#include "checks/machine_check.hpp"

#include <functional>

namespace stopspan {

/// A machine or load that is to stay as it is, whatever some devices do.
struct Watched {
    const Seeds &seeds;
    /// What it does in an evaluated state of a part of the circuit.
    std::function<Tri(const Compiled &part, const State &state, Network &network)> look;
    ActKind act;                                       ///< of the devices asked about
    std::function<bool(std::uint32_t variable)> asked; ///< is this one of them
};

/// What such acts were seen to do to it in states with a healthy supply in which it runs or is on.
struct Losses {
    struct Seen {
        Status status = Status::note; ///< fails: surely off after it; maybe: perhaps
        std::vector<std::string> acts;
    };
    std::map<std::uint32_t, Seen> worst; ///< per device that may put it off: variable of the whole circuit
    bool complete = true, exact = true;
    bool doubt = false; ///< the part does not tell whether it runs or is on to begin with
};

/// Searches this part of the circuit, and all that is connected where the part leaves doubt.
Losses find_losses(Tools &tools, const Watched &watched, const Reach &reach);

} // namespace stopspan
