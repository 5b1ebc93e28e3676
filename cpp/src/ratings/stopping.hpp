#pragma once

namespace stopspan::ratings {

/// Speeds of approach, m/s: a walking body, a hand close by. ISO 13855.
inline constexpr double walking_m_per_s = 1.6, reaching_m_per_s = 2.0;

/// Least distance of a light curtain or beam from what moves, mm. ISO 13855 with C = 8 (d - 14), d up to 40 mm: 2000 T
/// + C up to 500 mm, else 1600 T + C but not below 500; d up to 70 mm and single beams: 1600 T + 850. At least 100 mm.
/// @param time_s          of detection, control and stopping together
/// @param resolution_mm   d, what is seen for certain
double light_curtain_distance_mm(double time_s, double resolution_mm);
/// Of a two-hand control: 1600 T + C, C = 250 or 0 where covers keep hands from getting round; at least 100 mm.
double two_hand_distance_mm(double time_s, bool covered);
/// Of a mat or floor bar that is walked over: 1600 T + 1200 - 0.4 H, the latter at least 850.
double floor_distance_mm(double time_s, double height_mm);
/// Of an interlocked guard that opens at once: 1600 T, at least 100 mm; what its openings let through is left out.
double guard_distance_mm(double time_s);

/// Delay of a category 1 stop: the run-down and a fifth more, in tenths of a second (the margin is assumed).
double category_1_delay_s(double run_down_s);

} // namespace stopspan::ratings
