#include "ratings/contactor.hpp"

#include "ratings/protection_tables.hpp"

#include <algorithm>
#include <array>
#include <numbers>

namespace stopspan::ratings {
namespace {

struct CategoryRow {
    std::string_view text;
    double makes, breaks;
};
constexpr std::array<CategoryRow, 3> categories{{{"AC-1", 1.5, 1.5}, {"AC-3", 10, 8}, {"AC-4", 12, 10}}};

const CategoryRow &row(Category category) {
    return categories[static_cast<std::size_t>(category)];
}

} // namespace

std::string_view to_text(Category category) {
    return row(category).text;
}
double makes_times(Category category) {
    return row(category).makes;
}
double breaks_times(Category category) {
    return row(category).breaks;
}

std::vector<double> contactor_sizes_a() {
    return {contactor_sizes.begin(), contactor_sizes.end()};
}

double group_rating_a(const Group &group, Category category) {
    return std::max(group.running_a, (group.running_a + group.start_more_a) / breaks_times(category));
}

double phase_share() {
    return 1 / std::numbers::sqrt3;
}
double star_share() {
    return 1.0 / 3;
}

} // namespace stopspan::ratings
