#include "base/number_text.hpp"
#include "ratings/contactor.hpp"
#include "ratings/ground.hpp"

#include <algorithm>

namespace stopspan::ratings {
namespace {

bool is_contactor(DeviceKind kind) {
    return kind == DeviceKind::contactor || kind == DeviceKind::latched_contactor || kind == DeviceKind::relay;
}

Category category_of(const Ground &ground, std::uint32_t device, const std::vector<Behind> &behind) {
    const bool drives_only = std::ranges::all_of(
        behind, [&](const Behind &each) { return ground.motor_device(each.path).kind == DeviceKind::drive; });
    if (drives_only)
        return Category::ac1;
    // What stands ahead of several machines, or of a reversing pair, switches them running or not at all.
    const bool jogged = std::ranges::any_of(behind, [&](const Behind &each) {
        const MotorPath &path = ground.paths[each.path];
        return path.reversing.contains(device) ||
               (behind.size() == 1 && ground.motors[each.path].jogged && path.reversing.empty() && !each.star_point);
    });
    return jogged ? Category::ac4 : Category::ac3;
}

std::optional<double> rating_of(const Device &device, Category category) {
    switch (category) {
    case Category::ac1:
        return device.number("ac1_rating_a");
    case Category::ac4:
        return device.number("ac4_rating_a");
    case Category::ac3:
        break;
    }
    return device.number("ac3_rating_a");
}

std::string parameter_of(Category category) {
    return category == Category::ac1 ? "ac1_rating_a" : category == Category::ac4 ? "ac4_rating_a" : "ac3_rating_a";
}

} // namespace

void size_contactors(Ground &ground) {
    for (const auto &[index, behind] : ground.behind) {
        const Device &device = ground.device(index);
        if (!is_contactor(device.kind))
            continue;
        const Carried load = carried(ground, behind);
        const Category category = category_of(ground, index, behind);
        const double needed_a = group_rating_a({load.running_a, load.start_more_a}, category);
        Size size{.subject = device.designation,
                  .quantity = "rated current " + std::string(to_text(category)),
                  .value = needed_a,
                  .unit = "A",
                  .formula = behind.size() > 1 ? "the larger of sum I, and (sum I + start of the largest) / " +
                                                     format_number(breaks_times(category))
                                               : "I x share",
                  .inputs = load.inputs,
                  .source = "IEC 60947-4-1 utilization categories (multiples from memory); sizes: common practice"};
        if (behind.size() > 1)
            size.inputs.push_back(computed("more at the largest start", load.start_more_a, "A", "motors behind it"));
        for (const double rating_a : contactor_sizes_a()) {
            if (rating_a >= needed_a) {
                size.choice = std::string(to_text(category)) + " " + format_number(rating_a) + " A";
                break;
            }
            size.rejected.push_back({format_number(rating_a) + " A", "less than " + amperes(needed_a)});
        }
        if (size.choice.empty())
            size.remark = "Larger than the sizes known here.";
        if (category == Category::ac4)
            size.remark =
                "Reversed or jogged: it switches the starting current off. Of one contactor the AC-4 rating is "
                "lower than the AC-3 rating.";
        if (!load.complete)
            size.remark = "Motors behind it whose current is unknown are not in this value.";
        if (const auto has_a = rating_of(device, category)) {
            size.as_wired = *has_a;
            size.fit = !load.complete ? Fit::not_compared : *has_a >= needed_a ? Fit::fits : Fit::does_not_fit;
        } else {
            ground.unknown(device.designation, parameter_of(category), "whether it carries " + amperes(needed_a));
        }
        if (load.running_a > 0)
            ground.add(std::move(size));
    }
}

void size_start_buttons(Ground &ground) {
    for (const auto &[index, behind] : ground.behind) {
        const Device &device = ground.device(index);
        if (!is_actuator(device.kind))
            continue;
        const Carried load = carried(ground, behind);
        if (load.running_a <= 0)
            continue;
        Size size{.subject = device.designation,
                  .quantity = "motor current through its contact",
                  .value = load.running_a,
                  .unit = "A",
                  .formula = "sum I",
                  .inputs = load.inputs,
                  .source = std::string(common_practice)};
        size.remark = "It makes " + amperes(load.running_a + load.start_more_a) +
                      " when the motor starts and breaks as much when that stalls: the rating must be one for motors.";
        if (const auto has_a = device.number("rating_a")) {
            size.as_wired = *has_a;
            size.inputs.push_back(from_device(device, "rating_a", "A"));
            size.fit = *has_a >= load.running_a && load.complete ? Fit::fits : Fit::does_not_fit;
        } else {
            ground.unknown(device.designation, "rating_a",
                           "whether its contact carries the motor current of " + amperes(load.running_a));
        }
        ground.add(std::move(size));
    }
}

} // namespace stopspan::ratings
