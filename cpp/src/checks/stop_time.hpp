#pragma once

#include "checks/machine_check.hpp"

namespace stopspan {

/// stop-time. How long a machine runs down after a stop, against a limit that can be set.
///
/// - The run-downs are the description's: with brake and supply, and without supply.
/// - A drive is its own brake. A stop that takes the supply off its terminals at once starves it: then the run-down
///   without supply counts. One that takes it off after an off-delay timer must leave it until the machine stands.
///   Which stop does which is found from the wiring.
/// - That a machine runs down longer when the supply fails is a note: no stop was pressed.
/// - Who says nothing of run-downs gets no claim but a line in not_checked.
Decided decide_stop_time(Tools &tools, const std::vector<MachineSeen> &machines);

} // namespace stopspan
