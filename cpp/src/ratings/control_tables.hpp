#pragma once

#include <array>
#include <string_view>

namespace stopspan::ratings {

/// What a contact of a rating code may switch at one voltage: AC-15 or DC-13.
struct ContactRatingRow {
    std::string_view code;
    bool direct_current;
    double thermal_a, voltage_v, make_a, break_a;
};
/// IEC 60947-5-1 annex A, as a data sheet on control circuit classification prints it. From the strongest code down.
inline constexpr std::string_view contact_rating_source = "IEC 60947-5-1 annex A (rating codes)";
inline constexpr std::array<ContactRatingRow, 26> contact_ratings{{
    {"A600", false, 10, 120, 60, 6},      {"A600", false, 10, 240, 30, 3},        {"A600", false, 10, 480, 15, 1.5},
    {"A600", false, 10, 600, 12, 1.2},    {"B600", false, 5, 120, 30, 3},         {"B600", false, 5, 240, 15, 1.5},
    {"B600", false, 5, 480, 7.5, 0.75},   {"B600", false, 5, 600, 6, 0.6},        {"C600", false, 2.5, 120, 15, 1.5},
    {"C600", false, 2.5, 240, 7.5, 0.75}, {"C600", false, 2.5, 480, 3.75, 0.375}, {"C600", false, 2.5, 600, 3, 0.3},
    {"D300", false, 1, 120, 3.6, 0.6},    {"D300", false, 1, 240, 1.8, 0.3},      {"E150", false, 0.5, 120, 1.8, 0.3},
    {"N", true, 10, 125, 2.2, 2.2},       {"N", true, 10, 250, 1.1, 1.1},         {"N", true, 10, 600, 0.4, 0.4},
    {"P", true, 5, 125, 1.1, 1.1},        {"P", true, 5, 250, 0.55, 0.55},        {"P", true, 5, 600, 0.2, 0.2},
    {"Q", true, 2.5, 125, 0.55, 0.55},    {"Q", true, 2.5, 250, 0.27, 0.27},      {"Q", true, 2.5, 600, 0.1, 0.1},
    {"R", true, 1, 125, 0.22, 0.22},      {"R", true, 1, 250, 0.11, 0.11},
}};

/// What a control transformer carries for a moment at power factor 0.5 with 5 % drop, of two product generations.
struct TransformerRow {
    double rated_va, inrush_older_va, inrush_newer_va;
};
inline constexpr std::string_view transformer_source =
    "a maker's technical guide on transformers, pages 23 to 25; the lower of two product generations";
inline constexpr std::array<TransformerRow, 9> transformers{{
    {40, 66, 55},
    {63, 120, 90},
    {100, 170, 150},
    {160, 290, 270},
    {250, 510, 420},
    {400, 1000, 980},
    {630, 1400, 1000},
    {1000, 3600, 2000},
    {1600, 6700, 9100},
}};

/// DC control supplies as they are sold, at 24 V; common practice, no source.
inline constexpr std::array<double, 7> dc_supply_sizes{30, 60, 120, 240, 480, 960, 1920};

} // namespace stopspan::ratings
