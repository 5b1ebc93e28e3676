#pragma once

#include <optional>
#include <string_view>
#include <vector>

namespace stopspan::ratings {

enum class Category { ac1, ac3, ac4 };
std::string_view to_text(Category category); ///< "AC-3"

/// Multiple of its rated current that a contactor of this category makes and breaks, IEC 60947-4-1 (from memory).
double makes_times(Category category);
double breaks_times(Category category);

/// Ratings of contactors as they are sold, A.
std::vector<double> contactor_sizes_a();

/// Rated current a contactor ahead of several motors needs: their running currents together, and not less than what it
/// must break while the largest starts beside the others that run.
struct Group {
    double running_a = 0;    ///< all of them
    double start_more_a = 0; ///< what the start of the largest adds to that
};
double group_rating_a(const Group &group, Category category);

/// Share of the line current in delta: 1 before the split of the phases, 1/sqrt3 behind it; in star a third.
double phase_share();
double star_share();

} // namespace stopspan::ratings
