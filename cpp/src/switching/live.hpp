#pragma once

namespace stopspan {

/// Above this to earth a terminal is live. DESIGN 4.2; touch voltage limit of IEC 60364-4-41 for AC.
inline constexpr double live_v = 50;

} // namespace stopspan
