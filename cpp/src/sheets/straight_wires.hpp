#pragma once

#include "stopspan/drawing.hpp"

namespace stopspan {

/// Makes one line of wires that run straight on into each other where nothing else meets them, so that whoever goes on
/// drawing moves a wire, not its pieces.
void join_straight_wires(Sheet &sheet);

} // namespace stopspan
