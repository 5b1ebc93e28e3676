#pragma once

#include "switching/network.hpp"

#include <string_view>

namespace stopspan {

enum class Tri : std::uint8_t { off, on, maybe };

/// How a motor runs. `other`: current flows in a way that is none of these.
enum class Mode : std::uint8_t { stopped, run, forward, reverse, star, delta, slow, fast, single_phasing, other };
std::string_view to_text(Mode mode);

/// Of rated voltage: below this a winding is off (DESIGN 4.2), and so a coil is dead.
inline constexpr double power_off = 0.05;

struct MotorState {
    Tri runs = Tri::off;
    Mode mode = Mode::stopped;
};

/// From the electrical picture of a state (Network::evaluate done).
MotorState observe(const MotorSeen &motor, const State &state, Network &network);
Tri observe(const LoadSeen &load, Network &network);
/// A machine runs when one of its motors does.
MotorState observe_machine(const Compiled &circuit, std::uint32_t machine, const State &state, Network &network);

/// A stopped motor whose terminals are still fed.
enum class StillFed : std::uint8_t { no, through_contactor, unswitched };
StillFed still_fed(const Compiled &circuit, const MotorSeen &motor, const State &state, Network &network);

} // namespace stopspan
