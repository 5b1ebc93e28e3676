#pragma once

#include "stopspan/check.hpp"
#include "stopspan/circuit.hpp"
#include "stopspan/error.hpp"

#include <cstddef>
#include <string>
#include <string_view>

namespace stopspan::fuzz {

/// Ends the program with a message: something held not to be possible has happened.
[[noreturn]] void broken(const std::string &what);

/// Circuits with more devices are read but not checked: no input may take long.
inline constexpr std::size_t most_devices = 60;
/// Few states, no repairs. The rules of faults take nearly all of the time: one input in eight, by its length, is held
/// against them and the strictest target, the others against all other rules.
CheckOptions small_budget(std::size_t bytes);

/// Expects a refusal of a file to name the file, a line that is there, and something to say.
void expect_told(const FileError &error, const std::string &name, std::string_view bytes);
/// Does some acts on every device, one after the other, from cold; what an act may not do is refused.
void replay_some(const Circuit &circuit);
/// Expects the witness of every failure to be possible and to end as it says.
void expect_witnesses(const Circuit &circuit, const Verdict &verdict);

} // namespace stopspan::fuzz
