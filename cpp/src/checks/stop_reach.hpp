#pragma once

#include "checks/machine_check.hpp"

namespace stopspan {

/// stop-reach. From where the operator of a machine stands, and from each exit for each machine that it leads out from,
/// the nearest stop device that cuts the machine must be near enough to walk to; stop devices worked by hand must be
/// mounted at a height a hand reaches. An exit leads out from its area and the inner ones that have no exit of their
/// own: whoever leaves through the gate of a site need not stop what runs in its halls.
///
/// - What cuts is what the matrix of the verdict found, not what was asked. Who asks for no stop of a machine gets no
///   claim for it but a line in not_checked; so does an exit for machines that only stops on machines are asked to cut.
/// - Stop devices are those of the description. Buttons that an arrangement puts on a machine do not count: nobody who
///   is caught there, nor who comes to help, can be told to use them. Nor does a guard switch: nobody stops by it.
/// - Each machine behind an exit may have a nearest stop of its own: two buttons side by side at a door are fine.
/// - Without any place of a machine or of a stop there is no plan and nothing is claimed. One without a place among
///   others that have one is undecided.
/// @param plan   null: there is none
/// @param limit  of a rule, by name
Decided decide_stop_reach(const Description *plan, const std::function<double(std::string_view)> &limit,
                          const std::vector<MatrixCell> &matrix);

} // namespace stopspan
