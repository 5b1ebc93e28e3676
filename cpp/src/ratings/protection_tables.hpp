#pragma once

#include <array>
#include <string_view>

namespace stopspan::ratings {

/// gG fuses with their gates, amperes: carried for 10 s at the least, melts within 5 s, carried for 0.1 s at the least,
/// melts within 0.1 s. IEC 60269-1 table 3 and 60269-2 (below 16 A), from memory.
struct FuseRow {
    double rating_a, carried_10s_a, melts_5s_a, carried_100ms_a, melts_100ms_a;
};
inline constexpr std::string_view fuse_source = "IEC 60269-1 table 3, gates of gG fuses (from memory)";
inline constexpr std::array<FuseRow, 22> fuses{{
    {2, 3.7, 9.2, 6, 23},
    {4, 7.8, 18.5, 14, 47},
    {6, 11, 28, 26, 72},
    {10, 22, 46.5, 58, 110},
    {16, 33, 65, 85, 150},
    {20, 42, 85, 110, 200},
    {25, 52, 110, 150, 260},
    {32, 75, 150, 200, 350},
    {40, 95, 190, 260, 450},
    {50, 125, 250, 350, 610},
    {63, 160, 320, 450, 820},
    {80, 215, 425, 610, 1100},
    {100, 290, 580, 820, 1450},
    {125, 355, 715, 1100, 1910},
    {160, 460, 950, 1450, 2590},
    {200, 610, 1250, 1910, 3420},
    {250, 750, 1650, 2590, 4500},
    {315, 1050, 2200, 3420, 6000},
    {400, 1420, 2840, 4500, 8060},
    {500, 1780, 3800, 6000, 10600},
    {630, 2200, 5100, 8060, 14140},
    {800, 3060, 7000, 10600, 19000},
}};

/// Instantaneous release of a circuit-breaker, times its rating: never at or below, always from. IEC 60898-1.
struct BreakerRow {
    std::string_view type;
    double holds, releases;
};
inline constexpr std::string_view breaker_source = "IEC 60898-1 (instantaneous bands of types B, C, D)";
inline constexpr std::array<BreakerRow, 3> breakers{{{"B", 3, 5}, {"C", 5, 10}, {"D", 10, 20}}};
/// IEC 60898-1 preferred ratings, A.
inline constexpr std::array<double, 14> breaker_sizes{2, 4, 6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100};

/// AC-3 ratings of contactors as they are sold, at 400 V; common practice, no source.
inline constexpr std::array<double, 20> contactor_sizes{6,  9,   12,  18,  25,  32,  40,  50,  65,  80,
                                                        95, 115, 150, 185, 225, 265, 330, 400, 500, 630};

/// Longest time to disconnection in a final circuit of a TN system, AC: above and up to volts to earth, seconds.
/// IEC 60364-4-41 table 41.1.
struct DisconnectionRow {
    double above_v, up_to_v, tn_s, tt_s;
};
inline constexpr std::string_view disconnection_source = "IEC 60364-4-41 table 41.1";
inline constexpr std::array<DisconnectionRow, 4> disconnections{{
    {50, 120, 0.8, 0.3},
    {120, 230, 0.4, 0.2},
    {230, 400, 0.2, 0.07},
    {400, 1e9, 0.1, 0.04},
}};

} // namespace stopspan::ratings
